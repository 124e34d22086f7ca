import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import type { Database } from '../database/database.ts';
import { publicAddress } from '../mail/mailer.ts';
import { refuseUnknownSeasons } from '../schedule/seasons.ts';
import { notFound } from '../web/problem.ts';
import { answerPage } from './answering.ts';
import { gameReportOf } from './game-report-of-season.ts';
import { readReleasedGame } from './game-report-store.ts';
import { gameReportDataSchema } from './letter-data.ts';
import { paperQuery, seasonAddress, tags } from './letter-schemas.ts';
import { seasonBook } from './season-book-store.ts';
import { sendPdf } from './send-pdf.ts';
import { readTemplate } from './template-store.ts';

/** Evaluations made when asked for: an official’s report of one game, and the season book. */
export async function gameReportRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const coordinator = { policy: policies.coordinator };
  const whereToAnswer = answerPage(publicAddress(app.settings));
  refuseUnknownSeasons(app);

  const gameAddress = z.object({ gameId: z.uuid(), personId: z.uuid() });
  const gameReport = async (
    { pool }: Pick<Database, 'pool'>,
    conferenceId: string,
    { gameId, personId }: z.infer<typeof gameAddress>,
  ) => {
    const data = gameReportOf(await readReleasedGame(pool, conferenceId, gameId), personId, whereToAnswer);
    if (!data) throw notFound('game report');
    return data;
  };

  routes.get(
    '/api/games/:gameId/officials/:personId/report',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        summary: 'What an official did in a game, as data',
        tags,
        params: gameAddress,
        response: { 200: gameReportDataSchema },
      },
    },
    async (request) =>
      app.reading(request, (from) => gameReport(from, sessionOf(request).conferenceId, request.params)),
  );

  routes.get(
    '/api/games/:gameId/officials/:personId/report.pdf',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        summary: 'What an official did in a game, as PDF',
        tags,
        params: gameAddress,
        querystring: paperQuery,
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { data, body } = await app.reading(request, async (from) => ({
        data: await gameReport(from, conferenceId, request.params),
        body: (await readTemplate(from, conferenceId, 'game-report')).body,
      }));
      const { pdf } = await app.letterWriter.pdf('game-report', body, data, request.query.paper);
      return sendPdf(reply, pdf, `${data.official.name} week ${data.game.week}.pdf`);
    },
  );

  routes.get(
    '/api/seasons/:seasonId/season-book.pdf',
    {
      config: coordinator,
      schema: {
        summary: 'The book of a season, as PDF',
        tags,
        params: seasonAddress,
        querystring: paperQuery,
      },
    },
    async (request, reply) => {
      const { pdf, name } = await seasonBook(app, request, request.params.seasonId, request.query.paper);
      return sendPdf(reply, pdf, `Season book ${name}.pdf`);
    },
  );
}
