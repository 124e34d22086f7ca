import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { stateTone } from '../candidate-words.ts';
import { ofSeason } from '../postseason-schemas.ts';
import { frameSchema, whatDecides } from '../selection.ts';
import { listSelections } from '../stores/selection-rows.ts';
import { createSelection } from '../stores/selection-store.ts';

/** A season's selections, and making one. */
export async function listPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const options = { title: 'Postseason' };

  pages.get('/postseason', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/postseason` : '/season');
  });

  const view = async (conferenceId: string, seasonId: string, title = '', errors: FormErrors = {}) => ({
    ...{ title, errors, whatDecides },
    season: await seasonOf(database, conferenceId, seasonId),
    selections: (await listSelections(pool, conferenceId, seasonId)).map((one) => ({
      ...one,
      tone: stateTone[one.state],
      until: one.to === one.from ? null : one.to,
    })),
  });

  pages.get(
    '/seasons/:seasonId/postseason',
    { config, schema: { hide: true, params: ofSeason } },
    async (request, reply) =>
      reply.page(
        'postseason/list',
        await view(sessionOf(request).conferenceId, request.params.seasonId),
        options,
      ),
  );

  pages.post(
    '/seasons/:seasonId/postseason',
    { config, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { seasonId } = request.params;
      const title = textOf(formOf(request.body).title);
      const parsed = frameSchema.safeParse({ title });
      const refused = async (status: number, errors: FormErrors) =>
        reply
          .code(status)
          .page('postseason/list', await view(session.conferenceId, seasonId, title, errors), options);
      if (!parsed.success) return refused(400, errorsBesideLabels(parsed.error));
      try {
        const id = await createSelection(pool, session, seasonId, parsed.data);
        return reply.redirect(`/postseason/${id}`, 303);
      } catch (error) {
        return refused(409, fieldErrors(error));
      }
    },
  );
}
