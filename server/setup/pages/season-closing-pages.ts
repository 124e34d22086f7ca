import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { seasonBook } from '../../letters/season-book-store.ts';
import { counted } from '../../schedule/pages/elsewhere.ts';
import { readOpenEnds } from '../../schedule/season-open-ends.ts';
import { closeSeason } from '../../schedule/season-states.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { conflict, Problem } from '../../web/problem.ts';

/** Closing a season: what would stay undone is shown first, and its book is kept. */
export async function seasonClosingPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const schema = { hide: true, params: z.object({ seasonId: z.uuid() }) };

  async function show(request: FastifyRequest, reply: FastifyReply, seasonId: string, wrong?: string) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const ends = await readOpenEnds(pool, conferenceId, seasonId);
    const { beingMade: _, ...undone } = ends;
    return reply.code(wrong ? 409 : 200).page(
      'setup/close-season',
      {
        season,
        ...ends,
        words: {
          drafts: counted(ends.drafts, 'report'),
          toReview: counted(ends.toReview, 'filed report'),
          toRelease: counted(ends.toRelease, 'accepted report'),
          answers: counted(ends.answers, 'answer'),
          letters: counted(ends.letters, 'letter'),
          inquiries: counted(ends.inquiries, 'inquiry', 'inquiries'),
          selections: counted(ends.selections, 'selection'),
          quizzes: counted(ends.quizzes, 'quiz', 'quizzes'),
        },
        anything: Object.values(undone).some((count) => count > 0),
        running: season.state === 'running',
        closed: season.state === 'closed',
        wrong,
      },
      { title: `Close ${season.name}`, width: 'narrow' },
    );
  }

  pages.get('/seasons/:seasonId/close', { config, schema }, (request, reply) =>
    show(request, reply, request.params.seasonId),
  );

  pages.post('/seasons/:seasonId/close', { config, schema }, async (request, reply) => {
    const session = sessionOf(request);
    const { seasonId } = request.params;
    await seasonOf(database, session.conferenceId, seasonId);
    try {
      await inTransaction(pool, async (client) => {
        const { beingMade } = await readOpenEnds(client, session.conferenceId, seasonId);
        if (beingMade > 0) throw conflict('Letters of this season are being made; close it once they are.');
        await closeSeason(client, session, seasonId);
      });
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return show(request, reply, seasonId, error.message);
    }
    await seasonBook(app, request, seasonId);
    return reply.redirect('/seasons', 303);
  });
}
