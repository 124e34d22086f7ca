import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import type { Printer } from '../programs/outputs/printer.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { csvChoice, sendCsv } from '../web/csv-file.ts';
import { countsCsv } from './counts-csv.ts';
import { letterName } from './inquiry-messages.ts';
import {
  done,
  handlingSchema,
  inquiryAddress,
  inquirySchema,
  readingSchema,
  statementSchema,
  tags,
} from './inquiry-schemas.ts';
import { asProblem } from './refusals.ts';
import { outcomes, seasonCounts } from './rules/season-counts.ts';
import { readAnswerLetter } from './stores/answer-store.ts';
import { inquiriesOfSeason, readInquiry } from './stores/inquiry-store.ts';
import { inquirySettingSchema, keepInquirySetting, readInquirySetting } from './stores/setting-store.ts';
import { giveReading, giveStatement } from './stores/statement-store.ts';
import { takeStep } from './take-step.ts';

const answerAddress = inquiryAddress.extend({ round: z.coerce.number().int().min(1).max(2) });
const ofSeason = z.object({ seasonId: z.uuid() });

/** What the conference does with inquiries: handled, answered, counted; what officials and second readers say of them. */
export function handlingRoutes(printer: Printer) {
  return async (app: FastifyInstance): Promise<void> => {
    const routes = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const ofConference = { policy: policies.inquiryOfConference };
    const forCoordinator = { policy: policies.coordinator };

    routes.get(
      '/api/seasons/:seasonId/inquiries',
      {
        config: forCoordinator,
        schema: {
          tags,
          summary: 'Inquiries of a season, what is due first in front',
          params: ofSeason,
          response: { 200: z.array(inquirySchema) },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const { id } = await seasonOf(database, conferenceId, request.params.seasonId);
        return (await inquiriesOfSeason(pool, conferenceId, id)).map(listed);
      },
    );

    routes.get(
      '/api/inquiries/:inquiryId',
      {
        config: ofConference,
        schema: { tags, summary: 'An inquiry', params: inquiryAddress, response: { 200: inquirySchema } },
      },
      async (request) =>
        listed(await readInquiry(pool, sessionOf(request).conferenceId, request.params.inquiryId)),
    );

    routes.post(
      '/api/inquiries/:inquiryId/steps',
      {
        config: ofConference,
        schema: {
          tags,
          summary: 'Take an inquiry up, send it back, ask about it, answer it',
          description:
            'Refused for whoever declared a tie to a team, the crew or an official of the game. An answer needs its rule and its reason, names nobody and, where the play may have decided the game, waits for a second reader. It goes to the team as a letter by mail, and stays as it is.',
          params: inquiryAddress,
          body: handlingSchema,
          response: { 200: done },
        },
      },
      async (request) => {
        const acting = sessionOf(request);
        const { inquiryId } = request.params;
        await asProblem(() =>
          takeStep(database, acting, inquiryId, request.body, (letter) => printer.print(letter, 'Letter')),
        );
        app.outbox.wake();
        return { done: true as const };
      },
    );

    routes.put(
      '/api/inquiries/:inquiryId/statement',
      {
        config: { policy: policies.statementOfInquiry },
        schema: {
          tags,
          summary: 'Give my statement about a play, for the coordinator alone',
          params: inquiryAddress,
          body: z.strictObject({ text: statementSchema }),
          response: { 200: done },
        },
      },
      async (request) => {
        await asProblem(() =>
          inTransaction(pool, (client) =>
            giveStatement(client, sessionOf(request), request.params.inquiryId, request.body.text),
          ),
        );
        return { done: true as const };
      },
    );

    routes.put(
      '/api/inquiries/:inquiryId/second-reading',
      {
        config: { policy: policies.secondReaderOfInquiry },
        schema: {
          tags,
          summary: 'Give my second reading of a play that may have decided a game',
          params: inquiryAddress,
          body: readingSchema,
          response: { 200: done },
        },
      },
      async (request) => {
        await asProblem(() =>
          inTransaction(pool, (client) =>
            giveReading(client, sessionOf(request), request.params.inquiryId, request.body),
          ),
        );
        return { done: true as const };
      },
    );

    routes.get(
      '/api/inquiries/:inquiryId/answers/:round/letter.pdf',
      {
        config: { policy: policies.answeredInquiry },
        schema: { tags, summary: 'The letter of an answer, as PDF', params: answerAddress },
      },
      async (request, reply) => {
        const { inquiryId, round } = request.params;
        const { pdf, number } = await readAnswerLetter(
          pool,
          sessionOf(request).conferenceId,
          inquiryId,
          round,
        );
        return reply
          .type('application/pdf')
          .header('cache-control', 'private, no-store')
          .header('content-disposition', `inline; filename="${letterName(number)}"`)
          .send(pdf);
      },
    );

    routes.get(
      '/api/seasons/:seasonId/inquiry-counts',
      {
        config: forCoordinator,
        schema: {
          tags,
          summary: 'How many inquiries of a season were about what, and how they ended',
          params: ofSeason,
          response: {
            200: z.array(
              z.object({ category: z.string(), all: z.int(), by: z.record(z.enum(outcomes), z.int()) }),
            ),
          },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const { id } = await seasonOf(database, conferenceId, request.params.seasonId);
        return seasonCounts(await inquiriesOfSeason(pool, conferenceId, id)).map((row) => ({
          ...row,
          by: { ...row.by },
        }));
      },
    );

    routes.get(
      '/api/seasons/:seasonId/inquiry-counts.csv',
      {
        config: forCoordinator,
        schema: {
          tags,
          summary: 'The same as CSV',
          params: ofSeason,
          querystring: z.object(csvChoice),
        },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { id } = await seasonOf(database, conferenceId, request.params.seasonId);
        const counts = seasonCounts(await inquiriesOfSeason(pool, conferenceId, id));
        return sendCsv(reply, 'inquiry-counts', countsCsv(counts), request.query);
      },
    );

    routes.get(
      '/api/inquiry-settings',
      {
        config: forCoordinator,
        schema: {
          tags,
          summary: 'What the conference takes of inquiries',
          response: { 200: inquirySettingSchema },
        },
      },
      (request) => readInquirySetting(pool, sessionOf(request).conferenceId),
    );

    routes.put(
      '/api/inquiry-settings',
      {
        config: forCoordinator,
        schema: {
          tags,
          summary: 'Set what the conference takes of inquiries from now on',
          body: inquirySettingSchema,
          response: { 200: inquirySettingSchema },
        },
      },
      async (request) => {
        await inTransaction(pool, (client) => keepInquirySetting(client, sessionOf(request), request.body));
        return request.body;
      },
    );
  };
}

const listed = (inquiry: Awaited<ReturnType<typeof readInquiry>>) => ({
  ...inquiry,
  answers: [...inquiry.answers],
});
