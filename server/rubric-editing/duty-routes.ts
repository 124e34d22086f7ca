import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { PersonActing } from '../accounts/acting.ts';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { type Duty, dutySchema } from '../duties/duty.ts';
import { checkDuty } from '../duties/refusals.ts';
import { readPlayDuties } from '../reports/plays/play-duties.ts';
import { changeRubric, type RubricChange } from '../rubric/change-duty.ts';
import { requireRubric } from '../rubric/read-rubric.ts';
import { RubricChangedMeanwhile, RubricChangeRefused } from '../rubric/refusals.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { exactText } from '../text/typed-text.ts';
import { conflict, invalid } from '../web/problem.ts';
import { changedSchema, ofSeason, seen, why } from './change-schemas.ts';
import { owedAnswerSchema, previewAnswerSchema } from './duty-answers.ts';
import { previewOnSeason } from './season-preview.ts';

const ofDuty = ofSeason.extend({ dutyKey: exactText({ most: 60 }) });

/** Single duties and what they give, under /api. */
export async function dutyRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['rubric'];

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
      const rubric = await requireRubric(database.pool, conferenceId, season.id);
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
