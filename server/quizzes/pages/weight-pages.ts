import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { announceWeight, firstOpening, readWeight, weightSchema } from '../../knowledge/weight-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';

/** Whether quizzes count in a figure of the season: off at first, said before the first quiz opens. */
export async function weightPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });
  const at = '/seasons/:seasonId/quizzes/weight';

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    seasonId: string,
    told: { refused?: string; sent?: string } = {},
  ) => {
    const { conferenceId, timeZone } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const weight = await readWeight(pool, conferenceId, season.id);
    const first = await firstOpening(pool, conferenceId, season.id);
    return reply.page(
      'quizzes/weight',
      {
        season,
        timeZone,
        weight,
        first,
        settled: season.state === 'closed' || (first !== null && first <= app.quizClock.now()),
        percent: told.sent ?? weight?.percent ?? '',
        refused: told.refused,
      },
      { title: 'Whether quizzes count' },
    );
  };

  pages.get(at, { config, schema: { hide: true, params } }, async (request, reply) =>
    show(request, reply, request.params.seasonId),
  );

  pages.post(at, { config, schema: { hide: true, params } }, async (request, reply) => {
    const { seasonId } = request.params;
    const session = sessionOf(request);
    const season = await seasonOf(database, session.conferenceId, seasonId);
    const sent = textOf(formOf(request.body).percent).trim();
    const parsed = sent === '' ? { data: null } : weightSchema.safeParse(sent);
    if (parsed.data === undefined)
      return show(request, reply.code(400), seasonId, {
        sent,
        refused: 'Write a whole number of percent from 1 to 50, or leave it empty.',
      });
    try {
      await announceWeight(pool, session, season.id, parsed.data, app.quizClock.now());
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return show(request, reply.code(409), seasonId, { sent, refused: error.message });
    }
    return reply.redirect(`/seasons/${season.id}/quizzes/weight`, 303);
  });
}
