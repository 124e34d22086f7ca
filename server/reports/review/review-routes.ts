import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import pLimit from 'p-limit';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { type Finding, findings } from '../../duties/finding.ts';
import { playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { notFound } from '../../web/problem.ts';
import { acceptReport, fileReport, releaseReport, returnReport, whatIsMissing } from '../filing/filing.ts';
import { reviseReport } from '../filing/revisions.ts';
import { withProblems } from '../request-errors.ts';
import { longestReason, reportStates } from '../states.ts';
import { gameAgreement } from './agreement.ts';
import { correctPlay, removeLoggedPlay } from './corrections.ts';
import { ruleOnReply, writeReply } from './replies.ts';
import { keepReplyWindow, replyWindow, replyWindowSchema } from './reply-window.ts';
import {
  officialCounts,
  releasedMarksAbout,
  reportLine,
  reportMarks,
  seasonReports,
} from './review-store.ts';

// Filing counts a whole game. A few at a time, first come, first served: all at once, everybody would wait for the
// last, and so would whoever saves a mark.
const filing = pLimit(4);

const tags = ['reports'];
const id = z.uuid();
const reportParams = z.object({ reportId: id });
const findingSchema = z.enum(findings as [Finding, ...Finding[]]);
const reasonSchema = typedText({ least: 1, most: longestReason, tooShort: 'give the reason' });
const done = z.object({ done: z.literal(true) });
const moment = z.date().nullable();

const lineSchema = z.object({
  id: z.string(),
  state: z.enum(reportStates),
  revision: z.int(),
  week: z.int(),
  gameId: z.string(),
  game: z.string(),
  observerId: z.string(),
  observer: z.string(),
  filedAt: moment,
  releasedAt: moment,
  marks: z.int(),
  repliesWaiting: z.int(),
});

const markSchema = z.object({
  id: z.string(),
  playId: z.string(),
  number: z.int(),
  personId: z.string(),
  official: z.string(),
  position: z.enum(positions),
  dutyKey: z.string(),
  duty: z.string(),
  finding: findingSchema,
  comment: z.string(),
  addsOpportunity: z.boolean(),
  removed: z.boolean(),
  reply: z.string().nullable(),
  ruling: z.string().nullable(),
  changedTo: findingSchema.nullable(),
  rulingNote: z.string().nullable(),
});

const missingSchema = z.object({
  what: z.string(),
  message: z.string(),
  playId: z.string().optional(),
  observationId: z.string().optional(),
  position: z.enum(positions).optional(),
});

const agreementSchema = z.object({
  dutyKey: z.string(),
  title: z.string(),
  judged: z.int(),
  bothMet: z.int(),
  bothNotMet: z.int(),
  onlyFirst: z.int(),
  onlySecond: z.int(),
  agreed: z.object({ share: z.number(), low: z.number(), high: z.number() }).nullable(),
  kappa: z.object({
    value: z.number().nullable(),
    reason: z.string().optional(),
    low: z.number().optional(),
    high: z.number().optional(),
    coverage: z.number().optional(),
    method: z.string().optional(),
  }),
});

const recountedSchema = z.object({
  recounted: z.array(
    z.object({
      reportId: z.string(),
      observer: z.string(),
      state: z.string(),
      before: z.int(),
      after: z.int(),
      differences: z
        .array(
          z.object({
            position: z.enum(positions),
            dutyKey: z.string(),
            before: z.int(),
            after: z.int(),
          }),
        )
        .readonly(),
    }),
  ),
});

export const correctionSchema = z.union([
  z.strictObject({ markId: id, remove: z.literal(true) }),
  z.strictObject({ markId: id, finding: findingSchema, comment: typedText({ most: 4000 }) }),
]);

export const rulingSchema = z.discriminatedUnion('ruling', [
  z.strictObject({ ruling: z.literal('stands'), note: typedText({ most: 4000 }).default('') }),
  z.strictObject({ ruling: z.literal('withdrawn'), note: typedText({ most: 4000 }).default('') }),
  z.strictObject({
    ruling: z.literal('changed'),
    changedTo: findingSchema,
    note: typedText({ most: 4000 }).default(''),
  }),
]);

export const replyTextSchema = typedText({ least: 1, most: 4000, tooShort: 'write your answer' });

/** The way of a report from filed to released, corrections, replies and rulings. */
export async function reviewRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const step = <Result>(work: Parameters<typeof inTransaction<Result>>[1]) =>
    withProblems(() => inTransaction(pool, work));

  routes.get(
    '/api/seasons/:seasonId/reports',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'All reports of a season',
        params: z.object({ seasonId: id }),
        response: { 200: z.array(lineSchema) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(app.database, conferenceId, request.params.seasonId);
      return seasonReports(pool, conferenceId, season.id);
    },
  );

  routes.get(
    '/api/reports/:reportId',
    {
      config: { policy: policies.ownReport },
      schema: {
        tags,
        summary: 'One report with its marks and, once filed, the counts of each official',
        params: reportParams,
        response: {
          200: lineSchema.extend({
            observations: z.array(markSchema),
            officials: z.array(
              z.object({
                position: z.enum(positions),
                personId: z.string(),
                official: z.string(),
                opportunities: z.int(),
                notMet: z.int(),
                notCounted: z.int(),
                model: z.int(),
              }),
            ),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { reportId } = request.params;
      const line = await reportLine(pool, conferenceId, reportId);
      if (!line) throw notFound('report');
      return {
        ...line,
        observations: await reportMarks(pool, conferenceId, reportId),
        officials: await officialCounts(pool, conferenceId, reportId),
      };
    },
  );

  routes.get(
    '/api/reports/:reportId/missing',
    {
      config: { policy: policies.ownReport },
      schema: {
        tags,
        summary: 'What keeps the report from being filed, each with its place',
        params: reportParams,
        response: { 200: z.array(missingSchema) },
      },
    },
    (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return step(async (client) => [
        ...(await whatIsMissing(client, { conferenceId, personId }, request.params.reportId)),
      ]);
    },
  );

  routes.post(
    '/api/reports/:reportId/file',
    {
      config: { policy: policies.writesReport },
      schema: { tags, summary: 'File my report', params: reportParams, response: { 200: done } },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      await filing(() =>
        step((client) => fileReport(client, { conferenceId, personId }, request.params.reportId)),
      );
      return { done: true as const };
    },
  );

  routes.post(
    '/api/reports/:reportId/return',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Hand a filed or accepted report back to its observer',
        params: reportParams,
        body: z.strictObject({ reason: reasonSchema }),
        response: { 200: done },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { reason } = request.body;
      await step((client) =>
        returnReport(client, { conferenceId, personId }, request.params.reportId, reason),
      );
      return { done: true as const };
    },
  );

  for (const [name, work, summary] of [
    ['accept', acceptReport, 'Accept a filed report'],
    ['release', releaseReport, 'Release an accepted report to its officials'],
  ] as const) {
    routes.post(
      `/api/reports/:reportId/${name}`,
      {
        config: { policy: policies.coordinator },
        schema: { tags, summary, params: reportParams, response: { 200: done } },
      },
      async (request) => {
        const { conferenceId, personId } = sessionOf(request);
        const { reportId } = request.params as { reportId: string };
        await step((client) => work(client, { conferenceId, personId }, reportId));
        return { done: true as const };
      },
    );
  }

  routes.post(
    '/api/seasons/:seasonId/reports/release',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Release several accepted reports at once: all of them, or none',
        params: z.object({ seasonId: id }),
        body: z.strictObject({ reportIds: z.array(id).min(1, 'choose at least one report').max(1000) }),
        response: { 200: z.object({ released: z.int() }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { reportIds } = request.body;
      await seasonOf(app.database, conferenceId, request.params.seasonId);
      await step(async (client) => {
        for (const reportId of reportIds) {
          await releaseReport(client, { conferenceId, personId }, reportId);
        }
      });
      return { released: reportIds.length };
    },
  );

  routes.post(
    '/api/reports/:reportId/revisions',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Correct a released report: a new revision, with its reason',
        params: reportParams,
        body: z.strictObject({
          reason: reasonSchema,
          corrections: z.array(correctionSchema).min(1).max(200),
        }),
        response: { 200: z.object({ revision: z.int() }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { reason, corrections } = request.body;
      const acting = { conferenceId, personId };
      const revision = await step((client) =>
        reviseReport(client, acting, request.params.reportId, reason, corrections),
      );
      return { revision };
    },
  );

  routes.post(
    '/api/games/:gameId/plays/:playId/corrections',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Correct a play of a game whose reports are filed; they are counted again',
        params: z.object({ gameId: id, playId: id }),
        body: z.strictObject({ play: playSchema, reason: reasonSchema }),
        response: { 200: recountedSchema },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { gameId, playId } = request.params;
      const { play, reason } = request.body;
      const recounted = await step((client) =>
        correctPlay(client, { conferenceId, personId }, gameId, playId, play, reason),
      );
      return { recounted };
    },
  );

  routes.post(
    '/api/games/:gameId/plays/:playId/removal',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Remove a play that never was; marks on it go only when marksToo says so',
        params: z.object({ gameId: id, playId: id }),
        body: z.strictObject({ reason: reasonSchema, marksToo: z.boolean().default(false) }),
        response: { 200: recountedSchema },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { gameId, playId } = request.params;
      const recounted = await step((client) =>
        removeLoggedPlay(client, { conferenceId, personId }, gameId, playId, request.body),
      );
      return { recounted };
    },
  );

  routes.get(
    '/api/games/:gameId/agreement',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Two reports on one game: agreement overall and per duty',
        description:
          'Share agreed with Wilson’s interval (1927), and Cohen’s kappa (1968) of met and not met, over the opportunities that both observers could tell.',
        params: z.object({ gameId: id }),
        querystring: z.object({ first: id.optional(), second: id.optional() }),
        response: {
          200: z.object({
            first: z.string(),
            second: z.string(),
            overall: agreementSchema,
            duties: z.array(agreementSchema),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const found = await gameAgreement(pool, conferenceId, request.params.gameId, request.query);
      if (!found) throw notFound('pair of reports on this game');
      return {
        first: found.first.id,
        second: found.second.id,
        overall: { ...found.overall, title: 'All duties' },
        duties: found.duties,
      };
    },
  );

  routes.get(
    '/api/my/marks',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'The marks about me in released reports',
        response: {
          200: z.array(
            markSchema.extend({
              week: z.int(),
              game: z.string(),
              replyUntil: moment,
              replyId: z.string().nullable(),
            }),
          ),
        },
      },
    },
    (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return releasedMarksAbout(pool, conferenceId, personId);
    },
  );

  routes.post(
    '/api/observations/:observationId/reply',
    {
      config: { policy: policies.releasedObservationAboutMe },
      schema: {
        tags,
        summary: 'Answer a mark about me, within the conference’s window',
        params: z.object({ observationId: id }),
        body: z.strictObject({ text: replyTextSchema }),
        response: { 200: z.object({ replyId: z.string() }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const acting = { conferenceId, personId };
      const replyId = await step((client) =>
        writeReply(client, acting, request.params.observationId, request.body.text),
      );
      return { replyId };
    },
  );

  routes.get(
    '/api/reply-window',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'For how many days after a release officials may answer',
        response: { 200: replyWindowSchema },
      },
    },
    (request) => replyWindow(pool, sessionOf(request).conferenceId),
  );

  routes.put(
    '/api/reply-window',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Set for how many days officials may answer reports released from now on',
        body: replyWindowSchema,
        response: { 200: replyWindowSchema },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      await step((client) => keepReplyWindow(client, { conferenceId, personId }, request.body));
      return request.body;
    },
  );

  routes.post(
    '/api/replies/:replyId/ruling',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Rule on a reply: the mark stands, is changed or is withdrawn',
        params: z.object({ replyId: id }),
        body: rulingSchema,
        response: { 200: done },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const acting = { conferenceId, personId };
      await step((client) => ruleOnReply(client, acting, request.params.replyId, request.body));
      return { done: true as const };
    },
  );
}
