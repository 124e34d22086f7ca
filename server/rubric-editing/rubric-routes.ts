import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { rubricDifference } from '../duties/rubric-difference.ts';
import { situations } from '../football/situations/index.ts';
import { rulesFingerprint } from '../rubric/fingerprints.ts';
import { changePlayingRules } from '../rubric/playing-rules.ts';
import { readVersions, requireRubric } from '../rubric/read-rubric.ts';
import { PlayingRulesChangedMeanwhile, RubricChangeRefused } from '../rubric/refusals.ts';
import type { RubricVersion } from '../rubric/rubric.ts';
import { conflict, invalid, notFound } from '../web/problem.ts';
import { numberOf } from '../web/whole-number.ts';
import { changedSchema, ofSeason, seen, why } from './change-schemas.ts';
import {
  differenceAnswerSchema,
  dutyAnswer,
  rubricAnswerSchema,
  situationAnswer,
  situationAnswerSchema,
  versionAnswerSchema,
} from './duty-answers.ts';
import { playingRulesSchema } from './playing-rules-form.ts';

const versionAnswer = ({ number, note, createdAt, filedReports, consequenceWeights }: RubricVersion) => ({
  consequenceWeights,
  number,
  note,
  createdAt: createdAt.toISOString(),
  filedReports,
});

/** Rubric, duties and what they give, under /api. */
export async function rubricRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['rubric'];

  api.get(
    '/api/situations',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'The situations that can trigger a duty',
        response: { 200: z.array(situationAnswerSchema) },
      },
    },
    async () => situations.map(situationAnswer),
  );

  api.get(
    '/api/seasons/:seasonId/rubric',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: "A season's rubric, the newest version unless a number is given",
        params: ofSeason,
        querystring: z.object({ version: numberOf('version').optional() }),
        response: { 200: rubricAnswerSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const rubric = await requireRubric(
        database.pool,
        conferenceId,
        request.params.seasonId,
        request.query.version,
      );
      const { code, practices } = rubric;
      const seen = rulesFingerprint(rubric);
      return { ...versionAnswer(rubric), code, practices, seen, duties: rubric.duties.map(dutyAnswer) };
    },
  );

  api.get(
    '/api/seasons/:seasonId/rubric/versions',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'The versions of a rubric, newest first',
        params: ofSeason,
        response: { 200: z.array(versionAnswerSchema) },
      },
    },
    async (request) => {
      const versions = await readVersions(
        database.pool,
        sessionOf(request).conferenceId,
        request.params.seasonId,
      );
      if (versions.length === 0) throw notFound('rubric');
      return versions.map(versionAnswer);
    },
  );

  api.get(
    '/api/seasons/:seasonId/rubric/versions/:number/changes',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'What a version changed since the one before it',
        params: ofSeason.extend({ number: numberOf('number') }),
        response: { 200: z.array(differenceAnswerSchema) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { seasonId, number } = request.params;
      const { duties } = await requireRubric(database.pool, conferenceId, seasonId, number);
      const before =
        number === 1 ? [] : (await requireRubric(database.pool, conferenceId, seasonId, number - 1)).duties;
      return rubricDifference(before, duties).map((one) => ({ ...one, parts: [...one.parts] }));
    },
  );

  api.put(
    '/api/seasons/:seasonId/rubric/playing-rules',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Change the rules book or what crews work differently',
        params: ofSeason,
        body: playingRulesSchema.extend({ ...seen, ...why }),
        response: { 200: changedSchema },
      },
    },
    async (request) => {
      const { note, ...rules } = request.body;
      try {
        const { number, newVersion } = await inTransaction(database.pool, (client) =>
          changePlayingRules(client, sessionOf(request), request.params.seasonId, rules, note),
        );
        return { number, newVersion };
      } catch (error) {
        if (error instanceof PlayingRulesChangedMeanwhile) throw conflict(error.message);
        if (error instanceof RubricChangeRefused) {
          throw invalid(error.refusals.map(({ field, reason }) => ({ field, message: reason })));
        }
        throw error;
      }
    },
  );
}
