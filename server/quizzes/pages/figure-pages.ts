import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { quizShare, quizzesByOfficial } from '../../knowledge/official-lines.ts';
import { seasonFigure } from '../../knowledge/season-figure.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
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
      const taken = await quizzesByOfficial(database.pool, conferenceId, season.id);
      const { lines } = await app.results.standingsOf(conferenceId, season.id, 'whole');
      const people = await readPeople(database, conferenceId);
      const rows = lines.map(({ personId, position, raw, adjusted, rank }) => {
        const share = quizShare(taken.get(personId) ?? []);
        const grade = adjusted?.grade ?? raw;
        const sure = adjusted !== null && !errorUnknown(adjusted);
        return {
          person: people.get(personId),
          position,
          grade,
          rank,
          ...share,
          figure:
            weight === null || grade === null
              ? null
              : seasonFigure(
                  { grade, low: sure ? adjusted.low : null, high: sure ? adjusted.high : null },
                  share,
                  weight.percent,
                ),
        };
      });
      return reply.page(
        'quizzes/figures',
        { season, timeZone, weight, rows, ofAll: rows.some(({ told }) => told.ofAll) },
        { title: 'Grades beside quizzes', width: 'wide' },
      );
    },
  );
}
