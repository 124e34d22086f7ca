import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { errorsOf, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { setSchema } from '../calibration.ts';
import { listOwnSets, listSets } from '../stores/set-rows.ts';
import { createSet } from '../stores/set-store.ts';

export const stateTone = { draft: '', open: 'warn', closed: 'good' } as const;

/** A season's calibration sets, and making one; an observer's own. */
export async function setListPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });
  const title = 'Calibration of observers';

  async function listPage(
    conferenceId: string,
    seasonId: string,
    sent?: { values: { title: string; dueOn: string | null }; errors: FormErrors },
  ) {
    const sets = await listSets(pool, conferenceId, seasonId);
    const season = await seasonOf(database, conferenceId, seasonId);
    return {
      season,
      takenIn: season.calibrationInSeverity,
      sets: sets.map((set) => ({ ...set, tone: stateTone[set.state] })),
      values: sent?.values ?? { title: '', dueOn: null },
      errors: sent?.errors ?? {},
    };
  }

  pages.get(
    '/seasons/:seasonId/calibration',
    { config, schema: { hide: true, params } },
    async (request, reply) =>
      reply.page(
        'calibration/list',
        await listPage(sessionOf(request).conferenceId, request.params.seasonId),
        { title },
      ),
  );

  pages.post(
    '/seasons/:seasonId/calibration',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { seasonId } = request.params;
      const form = formOf(request.body);
      const values = { title: textOf(form.title).trim(), dueOn: textOf(form.dueOn).trim() || null };
      const parsed = setSchema.safeParse(values);
      if (!parsed.success)
        return reply
          .code(400)
          .page(
            'calibration/list',
            await listPage(session.conferenceId, seasonId, { values, errors: errorsOf(parsed.error) }),
            { title },
          );
      const id = await createSet(pool, session, seasonId, parsed.data);
      return reply.redirect(`/calibration/${id}`, 303);
    },
  );

  pages.get(
    '/my/calibration',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { here, elsewhere } = ofSeasonInView(
        request,
        await listOwnSets(pool, conferenceId, personId),
        (others) => counted(others.length, 'set'),
      );
      const sets = here.map((set) => ({
        ...set,
        toDo: set.state === 'open' && !set.handedIn,
        closed: set.state === 'closed',
      }));
      return reply.page('calibration/mine', { sets, elsewhere }, { title: 'Clips to mark' });
    },
  );
}
