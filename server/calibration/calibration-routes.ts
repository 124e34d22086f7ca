import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../web/csv-file.ts';
import { conflict } from '../web/problem.ts';
import { numberOf } from '../web/whole-number.ts';
import { clipFindings, clipSchema, itemSchema, setSchema, setStates } from './calibration.ts';
import { readPanel, titlesOf } from './results.ts';
import { putClipMarks } from './stores/mark-store.ts';
import { listSets, readSet } from './stores/set-rows.ts';
import { closeSet, createSet, openSet } from './stores/set-store.ts';

const tags = ['calibration of observers'];
const ofSeason = z.object({ seasonId: z.uuid() });
const ofSet = z.object({ setId: z.uuid() });
const share = z
  .object({ some: z.int(), of: z.int(), value: z.number(), low: z.number(), high: z.number() })
  .nullable();
const agreement = z
  .object({ value: z.number().nullable(), low: z.number(), high: z.number(), reason: z.string() })
  .partial();
const setAnswer = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  title: z.string(),
  dueOn: z.string().nullable(),
  state: z.enum(setStates),
  openedAt: z.string().nullable(),
  closedAt: z.string().nullable(),
  clips: z.array(clipSchema.extend({ number: z.int(), items: z.array(itemSchema) })),
  observers: z.array(
    z.object({
      observerId: z.uuid(),
      remindedAt: z.string().nullable(),
      doneAt: z.string().nullable(),
      marked: z.int().describe('clips'),
    }),
  ),
  panel: z
    .object({
      overall: agreement,
      duties: z.array(z.object({ duty: z.string(), clips: z.int(), agreement })),
      units: z.array(
        z.object({
          clip: z.int(),
          duty: z.string(),
          met: z.int(),
          notMet: z.int(),
          notSeen: z.int(),
          split: z.boolean(),
        }),
      ),
      observers: z.array(
        z.object({
          observer: z.uuid(),
          judged: z.int(),
          notSeen: z.int(),
          missed: z.int(),
          severity: z
            .object({ of100: z.number(), low: z.number(), high: z.number() })
            .nullable()
            .describe('of 100 chances of which the panel marks half as missed, those this observer would'),
          keen: share.describe('of what most of at least two others marked as missed'),
          alone: share.describe('of what no other of at least two marked as missed'),
        }),
      ),
    })
    .nullable()
    .describe('null until the set is closed: until then all are blind to each other'),
});

/** Calibration sets as JSON and CSV. */
export async function calibrationRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function answer(conferenceId: string, setId: string): Promise<z.input<typeof setAnswer>> {
    const set = await readSet(pool, conferenceId, setId);
    return { ...set, panel: await readPanel(pool, conferenceId, set) } as z.input<typeof setAnswer>;
  }

  routes.get(
    '/api/seasons/:seasonId/calibration-sets',
    {
      config,
      schema: {
        tags,
        summary: 'A season’s sets of clips that observers mark blind to each other, the newest first',
        params: ofSeason,
        response: {
          200: z.array(
            z.object({
              id: z.uuid(),
              title: z.string(),
              state: z.enum(setStates),
              dueOn: z.string().nullable(),
              clips: z.int(),
              asked: z.int(),
              done: z.int(),
            }),
          ),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return listSets(pool, conferenceId, season.id);
    },
  );

  routes.post(
    '/api/seasons/:seasonId/calibration-sets',
    {
      config,
      schema: {
        tags,
        summary: 'Make a set, with its clips',
        description: 'A clip is a play and the position to be watched on it.',
        params: ofSeason,
        body: setSchema.extend({ clips: z.array(clipSchema).max(60, 'sixty clips at most').default([]) }),
        response: { 201: setAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const { clips, ...frame } = request.body;
      const id = await createSet(pool, session, season.id, frame, clips);
      return reply.code(201).send(await answer(session.conferenceId, id));
    },
  );

  routes.get(
    '/api/calibration-sets/:setId',
    {
      config,
      schema: {
        tags,
        summary: 'A set, who has handed in, and once it is closed how far the panel agrees',
        params: ofSet,
        response: { 200: setAnswer },
      },
    },
    async (request) => answer(sessionOf(request).conferenceId, request.params.setId),
  );

  routes.post(
    '/api/calibration-sets/:setId/open',
    {
      config,
      schema: {
        tags,
        summary: 'Ask observers to mark the clips',
        description:
          'They are told. From now on the clips, what is asked of each and who is asked stay as they are. Refused where a clip has no film that can be watched here.',
        params: ofSet,
        body: z.object({ observers: z.array(z.uuid()).max(500) }),
        response: { 200: setAnswer },
      },
    },
    async (request) => {
      await openSet(pool, sessionOf(request), request.params.setId, request.body.observers);
      return answer(sessionOf(request).conferenceId, request.params.setId);
    },
  );

  routes.post(
    '/api/calibration-sets/:setId/close',
    {
      config,
      schema: {
        tags,
        summary: 'End marking and show the panel',
        params: ofSet,
        response: { 200: setAnswer },
      },
    },
    async (request) => {
      await closeSet(pool, sessionOf(request), request.params.setId);
      return answer(sessionOf(request).conferenceId, request.params.setId);
    },
  );

  routes.put(
    '/api/calibration-sets/:setId/clips/:number/marks',
    {
      config: { policy: policies.marksCalibration },
      schema: {
        tags,
        summary: 'Keep your own marks of one clip, all that is asked of it at once',
        params: ofSet.extend({ number: numberOf('number') }),
        body: z.object({ findings: z.record(z.string().max(100), z.enum(clipFindings)) }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { setId, number } = request.params;
      await putClipMarks(pool, sessionOf(request), setId, number, request.body.findings);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    '/api/calibration-sets/:setId/panel.csv',
    {
      config,
      schema: {
        tags,
        summary: 'How the panel marked each duty of each clip, as a table; once it is closed',
        params: ofSet,
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const set = await readSet(pool, conferenceId, request.params.setId);
      const panel = await readPanel(pool, conferenceId, set);
      if (!panel) throw conflict('Until the set is closed nobody sees the others’ marks.');
      const titles = titlesOf(set);
      const rows = panel.units.map(({ clip, duty, met, notMet, notSeen, split }) => [
        ...[clip, titles.get(duty) ?? duty, met, notMet, notSeen, split ? 'yes' : 'no'],
      ]);
      const columns = ['clip', 'duty', 'met', 'not_met', 'could_not_be_seen', 'split'];
      return sendCsv(reply, 'panel', tableCsv(columns, rows), request.query);
    },
  );
}
