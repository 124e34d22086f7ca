import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { sharesByOfficial } from '../../knowledge/official-lines.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
import { lineFigure } from '../../results/standings/line-figure.ts';
import { seasonOf } from '../../schedule/seasons.ts';

/** Everybody's season grade beside the figure in which quizzes count, where they do; for the coordinator. */
export async function figurePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/seasons/:seasonId/quizzes/figures',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid() }) },
    },
    async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const weight = await readWeight(database.pool, conferenceId, season.id);
      const shares = await sharesByOfficial(database.pool, conferenceId, season.id);
      const { lines } = await app.results.standingsOf(conferenceId, season.id, 'whole');
      const people = await readPeople(database, conferenceId);
      const rows = lines.map((line) => {
        const share = shares.get(line.personId);
        return {
          person: people.get(line.personId),
          position: line.position,
          grade: line.adjusted?.grade ?? line.raw,
          rank: line.rank,
          ...(share ?? { right: 0, asked: 0 }),
          figure: weight && lineFigure(line, share, weight.percent),
        };
      });
      const ofAll = [...shares.values()].some(({ told }) => told.ofAll);
      return reply.page(
        'quizzes/figures',
        { season, timeZone, weight, rows, ofAll },
        { title: 'Grades beside quizzes', width: 'wide' },
      );
    },
  );
}
