import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { PersonActing } from '../accounts/acting.ts';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { type Duty, dutySchema } from '../duties/duty.ts';
import { checkDuty } from '../duties/refusals.ts';
import { rubricDifference } from '../duties/rubric-difference.ts';
import { situations } from '../football/situations/index.ts';
import { readPlayDuties } from '../reports/plays/play-duties.ts';
import { changeRubric, type RubricChange } from '../rubric/change-duty.ts';
import { rulesFingerprint } from '../rubric/fingerprints.ts';
import { changePlayingRules } from '../rubric/playing-rules.ts';
import { readRubric, readVersions } from '../rubric/read-rubric.ts';
import {
  PlayingRulesChangedMeanwhile,
  RubricChangedMeanwhile,
  RubricChangeRefused,
} from '../rubric/refusals.ts';
import type { Rubric, RubricVersion } from '../rubric/rubric.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { exactText, typedText } from '../text/typed-text.ts';
import { conflict, invalid, notFound } from '../web/problem.ts';
import { numberOf } from '../web/whole-number.ts';
import {
  differenceAnswerSchema,
  dutyAnswer,
  owedAnswerSchema,
  previewAnswerSchema,
  rubricAnswerSchema,
  situationAnswer,
  situationAnswerSchema,
  versionAnswerSchema,
} from './duty-answers.ts';
import { playingRulesSchema } from './playing-rules-form.ts';
import { previewOnSeason } from './season-preview.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const ofDuty = ofSeason.extend({ dutyKey: exactText({ most: 60 }) });
const why = { note: typedText({ most: 500 }).default('').describe('Why, for the audit trail.') };
const seen = {
  seen: exactText({ most: 200 }).describe('The fingerprint of the duty that the change is based on.'),
};
const changedSchema = z.object({
  number: z.int(),
  newVersion: z.boolean().describe('A report was filed with the version before, which stays as it was.'),
});

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

  async function rubricOf(conferenceId: string, seasonId: string, number?: number): Promise<Rubric> {
    const rubric = await readRubric(database.pool, conferenceId, seasonId, number);
    if (rubric === undefined) throw notFound('rubric');
    return rubric;
  }

  async function change(actor: PersonActing, seasonId: string, what: RubricChange, note: string) {
    try {
      const { number, newVersion } = await inTransaction(database.pool, (client) =>
        changeRubric(client, actor, seasonId, what, note),
      );
      return { number, newVersion };
    } catch (error) {
      if (error instanceof RubricChangedMeanwhile) throw conflict(error.message);
      if (error instanceof RubricChangeRefused) {
        throw invalid(
          error.refusals.map(({ field, reason }) => ({ field: `duty.${field}`, message: reason })),
        );
      }
      throw error;
    }
  }

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
      const rubric = await rubricOf(conferenceId, request.params.seasonId, request.query.version);
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
      const { duties } = await rubricOf(conferenceId, seasonId, number);
      const before = number === 1 ? [] : (await rubricOf(conferenceId, seasonId, number - 1)).duties;
      return rubricDifference(before, duties).map((one) => ({ ...one, parts: [...one.parts] }));
    },
  );

  api.post(
    '/api/seasons/:seasonId/rubric/preview',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary:
          'What a new or changed duty would have created on the season, and what its weight would do to the standings',
        params: ofSeason,
        body: z.object({ duty: dutySchema }),
        response: { 200: previewAnswerSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const duty: Duty = requireRight(request.body.duty);
      const rubric = await rubricOf(conferenceId, season.id);
      const before = rubric.duties.find((one) => one.key === duty.key);
      return previewOnSeason(database, app.calculator, season, before, duty);
    },
  );

  api.post(
    '/api/seasons/:seasonId/rubric/duties',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Add a duty',
        params: ofSeason,
        body: z.object({ duty: dutySchema, ...why }),
        response: { 201: changedSchema },
      },
    },
    async (request, reply) => {
      const { duty, note } = request.body;
      const changed = await change(sessionOf(request), request.params.seasonId, { kind: 'add', duty }, note);
      return reply.code(201).send(changed);
    },
  );

  api.put(
    '/api/seasons/:seasonId/rubric/duties/:dutyKey',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Change a duty',
        params: ofDuty,
        body: z.object({ duty: dutySchema, ...seen, ...why }),
        response: { 200: changedSchema },
      },
    },
    (request) => {
      const { duty, note, ...rest } = request.body;
      const { seasonId, dutyKey: key } = request.params;
      return change(sessionOf(request), seasonId, { kind: 'change', key, duty, ...rest }, note);
    },
  );

  api.delete(
    '/api/seasons/:seasonId/rubric/duties/:dutyKey',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Remove a duty; reports filed with it keep it',
        params: ofDuty,
        body: z.object({ ...seen, ...why }),
        response: { 200: changedSchema },
      },
    },
    (request) => {
      const { note, ...rest } = request.body;
      const { seasonId, dutyKey: key } = request.params;
      return change(sessionOf(request), seasonId, { kind: 'remove', key, ...rest }, note);
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

  api.get(
    '/api/games/:gameId/plays/:playId/duties',
    {
      config: { policy: policies.assignedGame },
      schema: {
        tags,
        summary: 'Who owed what on a play, and the facts that decided it',
        params: z.object({ gameId: z.uuid(), playId: z.uuid() }),
        response: { 200: owedAnswerSchema },
      },
    },
    async (request) => {
      const { gameId, playId } = request.params;
      const found = await readPlayDuties(database, sessionOf(request).conferenceId, gameId, playId);
      return {
        play: found.play,
        crewSize: found.crew.size,
        owed: found.owed.map(({ duty, why, ...who }) => ({
          ...who,
          dutyKey: duty.key,
          title: duty.title,
          expected: duty.expected,
          why: why.map(({ missing: _, ...reason }) => ({ ...reason, facts: [...reason.facts] })),
        })),
        undecided: found.undecided.map(({ duty, positions, missing }) => ({
          dutyKey: duty.key,
          title: duty.title,
          positions: [...positions],
          missing: [...missing],
        })),
      };
    },
  );
}

/** @throws Problem 400 that names what is wrong with the duty as a whole. */
function requireRight(duty: Duty): Duty {
  const check = checkDuty(duty);
  if (check.ok) return check.duty;
  throw invalid(check.refusals.map(({ field, reason }) => ({ field: `duty.${field}`, message: reason })));
}
