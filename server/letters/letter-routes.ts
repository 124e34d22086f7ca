import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { fullName } from '../accounts/people-names.ts';
import { policies, sessionOf } from '../accounts/policy.ts';
import { publicAddress } from '../mail/mailer.ts';
import { refuseUnknownSeasons } from '../schedule/seasons.ts';
import { notFound } from '../web/problem.ts';
import { dayIn } from '../web/today.ts';
import { answerPage, lastDayToAnswer } from './answering.ts';
import { letterFileName, lettersTo, readLetter, readLetterWithPdf } from './kept-letters.ts';
import { letterDataSchema, letterKinds } from './letter-data.ts';
import { letterLines } from './letter-lines.ts';
import { sendAgain } from './letter-messages.ts';
import { letterOfSeason } from './letter-of-season.ts';
import { instant, kindQuery, letterAddress, plain, seasonAddress, tags } from './letter-schemas.ts';
import { releaseLetters } from './release-letters.ts';
import { readLetterSeason } from './season-source.ts';
import { sendPdf } from './send-pdf.ts';

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

/** Letters: those of a season, what one would say, release and delivery, and one letter with its PDF. */
export async function letterRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const coordinator = { policy: policies.coordinator };
  const whereToAnswer = answerPage(publicAddress(app.settings));
  refuseUnknownSeasons(app);

  routes.get(
    '/api/seasons/:seasonId/letters',
    {
      config: coordinator,
      schema: { summary: 'Letters of a season', tags, params: seasonAddress, querystring: kindQuery },
    },
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
        summary: 'What the letter to an official would say, as data',
        tags,
        params: seasonAddress.extend({ personId: z.uuid() }),
        querystring: kindQuery,
        response: { 200: letterDataSchema },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { seasonId, personId } = request.params;
      const season = await readLetterSeason(pool, app.results, session.conferenceId, seasonId, personId);
      if (!season) throw notFound('season');
      if (!season.people.has(personId)) throw notFound('official');
      const today = dayIn(session.timeZone);
      return letterOfSeason(season, personId, {
        kind: request.query.kind,
        issuedOn: today,
        replyBy: lastDayToAnswer(today, season.conference.replyDays),
        answerPage: whereToAnswer,
        coordinator: fullName(session),
      });
    },
  );

  routes.post(
    '/api/seasons/:seasonId/letters/release',
    {
      config: coordinator,
      schema: {
        summary: 'Release letters to their officials, all of a kind',
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
      app.outbox.wake();
      return done;
    },
  );

  routes.post(
    '/api/seasons/:seasonId/letters/send-again',
    {
      config: coordinator,
      schema: {
        summary: 'Mail released letters again that did not leave',
        tags,
        params: seasonAddress,
        body: z.object({ kind: z.enum(letterKinds) }),
        response: { 200: z.object({ waiting: z.int() }) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const waiting = await sendAgain(pool, conferenceId, request.params.seasonId, request.body.kind);
      app.outbox.wake();
      return { waiting };
    },
  );

  routes.get(
    '/api/letters/:letterId',
    {
      config: { policy: policies.ownLetter },
      schema: {
        summary: 'One letter with the data it was written from',
        tags,
        params: letterAddress,
        response: { 200: letterSchema.extend({ data: letterDataSchema }) },
      },
    },
    async (request) => {
      const letter = await readLetter(app.database, sessionOf(request).conferenceId, request.params.letterId);
      return { ...plain(letter), data: letterDataSchema.parse(letter.data) };
    },
  );

  routes.get(
    '/api/letters/:letterId/letter.pdf',
    {
      config: { policy: policies.ownLetter },
      schema: { summary: 'One letter as PDF', tags, params: letterAddress },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { letter, pdf } = await app.reading(request, (from) =>
        readLetterWithPdf(from, conferenceId, request.params.letterId),
      );
      return sendPdf(reply, pdf, letterFileName(letter));
    },
  );

  routes.get(
    '/api/my/letters',
    {
      config: { policy: policies.official },
      schema: {
        summary: 'The letters released to me',
        tags,
        response: { 200: z.object({ letters: z.array(letterSchema) }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return { letters: plain(await lettersTo(app.database, conferenceId, personId)) };
    },
  );
}
