import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { publicAddress } from '../mail/mailer.ts';
import { refuseUnknownSeasons } from '../schedule/seasons.ts';
import { exactText, typedDay } from '../text/typed-text.ts';
import { notFound } from '../web/problem.ts';
import { dayIn } from '../web/today.ts';
import { answerPage, dayAfter } from './answering.ts';
import {
  batchProgress,
  createBatch,
  letterFileName,
  letterLines,
  lettersTo,
  readLetter,
  readLetterPdf,
  releaseLetters,
  retryFailed,
} from './batch-store.ts';
import { sendAgain } from './delivery.ts';
import { gameReportOf } from './game-report-of-season.ts';
import { readReleasedGame } from './game-report-store.ts';
import { gameReportDataSchema, letterDataSchema, letterKinds, templateKinds } from './letter-data.ts';
import { letterOfSeason } from './letter-of-season.ts';
import { zipOfLetters } from './letters-zip.ts';
import { paperSizes } from './pdf/style.ts';
import { templateContracts } from './plots.ts';
import { seasonBook } from './season-book-store.ts';
import { readLetterSeason } from './season-source.ts';
import { checkTemplate, fieldsOf } from './template-check.ts';
import {
  longestTemplate,
  readTemplate,
  refuseWrong,
  saveTemplate,
  templateVersions,
} from './template-store.ts';

const papers = Object.keys(paperSizes) as [keyof typeof paperSizes, ...(keyof typeof paperSizes)[]];
const tags = ['letters'];
const seasonAddress = z.object({ seasonId: z.uuid() });
const batchAddress = z.object({ batchId: z.uuid() });
const letterAddress = z.object({ letterId: z.uuid() });
const kindAddress = z.object({ kind: z.enum(templateKinds) });
const kindQuery = z.object({ kind: z.enum(letterKinds).default('end-of-season') });
const paperQuery = z.object({ paper: z.enum(papers).default('Letter') });

const instant = z.iso.datetime();

/** As JSON carries it: instants as text. */
type Plain<T> = T extends Date ? string : T extends object ? { [Key in keyof T]: Plain<T[Key]> } : T;
const plain = <T>(value: T): Plain<T> => JSON.parse(JSON.stringify(value));

const jobState = z.enum(['waiting', 'made', 'unchanged', 'failed']);
const progressSchema = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  kind: z.enum(letterKinds),
  paper: z.enum(papers),
  issuedOn: z.string(),
  replyBy: z.string().nullable(),
  createdAt: instant,
  total: z.int(),
  waiting: z.int(),
  made: z.int(),
  unchanged: z.int(),
  failed: z.int(),
  finished: z.boolean(),
  jobs: z.array(
    z.object({
      personId: z.uuid(),
      name: z.string(),
      state: jobState,
      error: z.string().nullable(),
      letterId: z.uuid().nullable(),
    }),
  ),
});
const letterSchema = z.object({
  id: z.uuid(),
  personId: z.uuid(),
  name: z.string(),
  seasonName: z.string(),
  kind: z.enum(letterKinds),
  edition: z.int(),
  position: z.string().nullable(),
  pages: z.int(),
  sha256: z.string(),
  inputRevision: z.int(),
  templateVersion: z.int(),
  createdAt: instant,
  releasedAt: instant.nullable(),
});
const templateProblem = z.object({ line: z.int(), column: z.int(), message: z.string() });
const previewBody = z.object({
  body: exactText({ most: longestTemplate }),
  seasonId: z.uuid(),
  personId: z.uuid().nullable().default(null),
});
const templateBody = z.object({ body: exactText({ most: longestTemplate }) });

export function sendPdf(reply: FastifyReply, pdf: Buffer, fileName: string): FastifyReply {
  return reply
    .type('application/pdf')
    .header('cache-control', 'private, no-store')
    .header(
      'content-disposition',
      `inline; filename="letter.pdf"; filename*=UTF-8''${encodeURIComponent(fileName)}`,
    )
    .send(pdf);
}

/** Letters, their batches, templates, game reports and the season book, under /api. */
export async function letterRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const coordinator = { policy: policies.coordinator };
  const whereToAnswer = answerPage(publicAddress(app.settings));
  const { templatePreviews: previews } = app;
  refuseUnknownSeasons(app);

  routes.get(
    '/api/seasons/:seasonId/letters',
    { config: coordinator, schema: { tags, params: seasonAddress, querystring: kindQuery } },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      return { letters: await letterLines(pool, conferenceId, request.params.seasonId, request.query.kind) };
    },
  );

  routes.get(
    '/api/seasons/:seasonId/officials/:personId/letter-data',
    {
      config: coordinator,
      schema: {
        tags,
        params: seasonAddress.extend({ personId: z.uuid() }),
        querystring: kindQuery,
        response: { 200: letterDataSchema },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const season = await readLetterSeason(pool, app.results, session.conferenceId, request.params.seasonId);
      if (!season) throw notFound('season');
      if (!season.people.has(request.params.personId)) throw notFound('official');
      const today = dayIn(session.timeZone);
      return letterOfSeason(season, request.params.personId, {
        kind: request.query.kind,
        issuedOn: today,
        replyBy: dayAfter(today, season.conference.replyDays),
        answerPage: whereToAnswer,
        coordinator: `${session.givenName} ${session.familyName}`,
      });
    },
  );

  routes.post(
    '/api/seasons/:seasonId/letter-batches',
    {
      config: coordinator,
      schema: {
        tags,
        params: seasonAddress,
        body: z.object({
          kind: z.enum(letterKinds),
          paper: z.enum(papers).default('Letter'),
          replyBy: typedDay().nullable().default(null),
          personIds: z.array(z.uuid()).min(1).nullable().default(null),
        }),
        response: { 202: progressSchema },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const id = await createBatch(pool, session, { ...request.body, ...request.params });
      app.letterWork.wake();
      return reply.code(202).send(plain(await batchProgress(pool, session.conferenceId, id)));
    },
  );

  routes.get(
    '/api/letter-batches/:batchId',
    { config: coordinator, schema: { tags, params: batchAddress, response: { 200: progressSchema } } },
    async (request) =>
      plain(await batchProgress(pool, sessionOf(request).conferenceId, request.params.batchId)),
  );

  routes.post(
    '/api/letter-batches/:batchId/retry',
    { config: coordinator, schema: { tags, params: batchAddress, response: { 200: progressSchema } } },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      await retryFailed(pool, conferenceId, request.params.batchId);
      app.letterWork.wake();
      return plain(await batchProgress(pool, conferenceId, request.params.batchId));
    },
  );

  routes.get(
    '/api/letter-batches/:batchId/letters.zip',
    { config: coordinator, schema: { tags, params: batchAddress } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { jobs, kind, issuedOn } = await batchProgress(pool, conferenceId, request.params.batchId);
      const ids = jobs.flatMap(({ letterId }) => (letterId ? [letterId] : []));
      if (ids.length === 0) throw notFound('letter in this batch yet');
      return reply
        .type('application/zip')
        .header('cache-control', 'private, no-store')
        .header('content-disposition', `attachment; filename="letters-${kind}-${issuedOn}.zip"`)
        .send(zipOfLetters(pool, conferenceId, ids));
    },
  );

  routes.post(
    '/api/seasons/:seasonId/letters/release',
    {
      config: coordinator,
      schema: {
        tags,
        params: seasonAddress,
        body: z.object({
          kind: z.enum(letterKinds),
          letterIds: z.array(z.uuid()).nullable().default(null),
          mail: z.enum(['no', 'link', 'attached']).default('no'),
        }),
        response: { 200: z.object({ released: z.int(), outOfDate: z.int(), otherDay: z.int() }) },
      },
    },
    async (request) => {
      const done = await releaseLetters(pool, sessionOf(request), { ...request.body, ...request.params });
      app.letterWork.wake();
      return done;
    },
  );

  routes.post(
    '/api/seasons/:seasonId/letters/send-again',
    {
      config: coordinator,
      schema: {
        tags,
        params: seasonAddress,
        body: z.object({ kind: z.enum(letterKinds) }),
        response: { 200: z.object({ waiting: z.int() }) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const waiting = await sendAgain(pool, conferenceId, request.params.seasonId, request.body.kind);
      app.letterWork.wake();
      return { waiting };
    },
  );

  routes.get(
    '/api/letters/:letterId',
    {
      config: { policy: policies.ownLetter },
      schema: {
        tags,
        params: letterAddress,
        response: { 200: letterSchema.extend({ data: letterDataSchema }) },
      },
    },
    async (request) => {
      const letter = await readLetter(pool, sessionOf(request).conferenceId, request.params.letterId);
      return { ...plain(letter), data: letterDataSchema.parse(letter.data) };
    },
  );

  routes.get(
    '/api/letters/:letterId/letter.pdf',
    { config: { policy: policies.ownLetter }, schema: { tags, params: letterAddress } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const letter = await readLetter(pool, conferenceId, request.params.letterId);
      return sendPdf(reply, await readLetterPdf(pool, conferenceId, letter.id), letterFileName(letter));
    },
  );

  routes.get(
    '/api/my/letters',
    {
      config: { policy: policies.official },
      schema: { tags, response: { 200: z.object({ letters: z.array(letterSchema) }) } },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return { letters: plain(await lettersTo(pool, conferenceId, personId)) };
    },
  );

  const gameReport = async (conferenceId: string, gameId: string, personId: string) => {
    const data = gameReportOf(await readReleasedGame(pool, conferenceId, gameId), personId, whereToAnswer);
    if (!data) throw notFound('game report');
    return data;
  };
  const gameAddress = z.object({ gameId: z.uuid(), personId: z.uuid() });

  routes.get(
    '/api/games/:gameId/officials/:personId/report',
    {
      config: { policy: policies.ownEvaluation },
      schema: { tags, params: gameAddress, response: { 200: gameReportDataSchema } },
    },
    async (request) =>
      gameReport(sessionOf(request).conferenceId, request.params.gameId, request.params.personId),
  );

  routes.get(
    '/api/games/:gameId/officials/:personId/report.pdf',
    {
      config: { policy: policies.ownEvaluation },
      schema: { tags, params: gameAddress, querystring: paperQuery },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { gameId, personId } = request.params;
      const data = await gameReport(conferenceId, gameId, personId);
      const { body } = await readTemplate(pool, conferenceId, 'game-report');
      const { pdf } = await app.letterWriter.pdf('game-report', body, data, request.query.paper);
      return sendPdf(reply, pdf, `${data.official.name} week ${data.game.week}.pdf`);
    },
  );

  routes.get(
    '/api/seasons/:seasonId/season-book.pdf',
    { config: coordinator, schema: { tags, params: seasonAddress, querystring: paperQuery } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { paper } = request.query;
      const { pdf, name } = await seasonBook(app, session, request.params.seasonId, paper);
      return sendPdf(reply, pdf, `Season book ${name}.pdf`);
    },
  );

  routes.get(
    '/api/letter-templates/:kind',
    { config: coordinator, schema: { tags, params: kindAddress } },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { kind } = request.params;
      return {
        ...(await readTemplate(pool, conferenceId, kind)),
        versions: await templateVersions(pool, conferenceId, kind),
        fields: fieldsOf(templateContracts[kind].data),
      };
    },
  );

  routes.put(
    '/api/letter-templates/:kind',
    {
      config: coordinator,
      schema: {
        tags,
        params: kindAddress,
        body: templateBody,
        response: { 200: z.object({ version: z.int() }) },
      },
    },
    async (request) => {
      const { kind } = request.params;
      const { body } = request.body;
      const problems = await app.checkedTemplate(sessionOf(request), kind, body);
      return { version: await saveTemplate(pool, sessionOf(request), kind, body, problems) };
    },
  );

  routes.post(
    '/api/letter-templates/:kind/check',
    {
      config: coordinator,
      schema: {
        tags,
        params: kindAddress,
        body: templateBody,
        response: { 200: z.object({ problems: z.array(templateProblem) }) },
      },
    },
    async (request) => ({
      problems: await app.checkedTemplate(sessionOf(request), request.params.kind, request.body.body),
    }),
  );

  routes.post(
    '/api/letter-templates/:kind/preview',
    {
      config: coordinator,
      schema: {
        tags,
        params: kindAddress,
        body: previewBody,
        response: { 200: z.object({ problems: z.array(templateProblem), html: z.string().nullable() }) },
      },
    },
    async (request) => {
      const { kind } = request.params;
      const problems = checkTemplate(request.body.body, templateContracts[kind]);
      if (problems.length > 0) return { problems, html: null };
      const data = await previews.data(sessionOf(request), { kind, ...request.body });
      return app.letterWriter.html(kind, request.body.body, data);
    },
  );

  routes.post(
    '/api/letter-templates/:kind/preview.pdf',
    { config: coordinator, schema: { tags, params: kindAddress, body: previewBody } },
    async (request, reply) => {
      const { kind } = request.params;
      const { body } = request.body;
      refuseWrong(body, checkTemplate(body, templateContracts[kind]));
      const data = await previews.data(sessionOf(request), { kind, ...request.body });
      const { pdf } = await app.letterWriter.pdf(kind, body, data);
      return sendPdf(reply, pdf, 'preview.pdf');
    },
  );
}
