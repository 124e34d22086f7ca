import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { frameSchema } from '../../programs/program.ts';
import { createProgram } from '../../programs/stores/program-store.ts';
import { readDuties } from '../../results/patterns/pattern-counts.ts';
import { codeOfSeason } from '../../rubric/read-rubric.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { invalid } from '../../web/problem.ts';
import { readNextTopics } from '../next-topics.ts';

const params = z.object({ seasonId: z.uuid() });

/** What to teach next, and opening a program on it with one button. */
export async function nextTopicPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const config = { policy: policies.coordinator };

  pages.get(
    '/seasons/:seasonId/training/next-topics',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const topics = await readNextTopics(database, app.results, session, season.id);
      return reply.page('outcomes/next-topics', { season, topics }, { title: 'What to teach next' });
    },
  );

  pages.post(
    '/seasons/:seasonId/training/next-topics',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { seasonId } = request.params;
      const key = textOf(formOf(request.body).duty);
      const duty = (await readDuties(database.pool, session.conferenceId, seasonId)).get(key);
      if (!duty) throw invalid([{ field: 'duty', message: 'is no duty of this season' }]);
      const frame = frameSchema.parse({
        title: duty.title.slice(0, 200),
        goal: (duty.guidance || duty.title).slice(0, 500),
        code: await codeOfSeason(database.pool, session.conferenceId, seasonId),
      });
      const id = await createProgram(database.pool, session, seasonId, frame);
      return reply.redirect(`/training/programs/${id}/candidates?duty=${encodeURIComponent(duty.key)}`, 303);
    },
  );
}
