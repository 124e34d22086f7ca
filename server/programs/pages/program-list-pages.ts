import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { codeOfSeason } from '../../rubric/read-rubric.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsOf, type FormErrors, fieldErrors, formOf } from '../../web/form.ts';
import { frameSchema } from '../program.ts';
import { readProgramNames } from '../stores/program-names.ts';
import { createProgram, listPrograms } from '../stores/program-store.ts';
import { emptyFrame, frameForm, frameOfForm } from './frame-form.ts';

/** A season's training programs, and opening one. */
export async function programListPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  pages.get('/training', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/training` : '/season');
  });

  async function listPage(season: Season, values?: ReturnType<typeof frameOfForm>, errors: FormErrors = {}) {
    const { conferenceId, id } = season;
    const { crews } = await readProgramNames(database, conferenceId, id);
    const code = await codeOfSeason(database.pool, conferenceId, id);
    return {
      season,
      programs: await listPrograms(database.pool, conferenceId, id),
      form: frameForm(values ?? emptyFrame(code), crews, errors),
      wrong: values !== undefined,
    };
  }

  pages.get(
    '/seasons/:seasonId/training',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      return reply.page('programs/list', await listPage(season), { title: 'Training programs' });
    },
  );

  pages.post(
    '/seasons/:seasonId/training',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const values = frameOfForm(formOf(request.body));
      const refuse = async (errors: FormErrors) =>
        reply
          .code(400)
          .page('programs/list', await listPage(season, values, errors), { title: 'Training programs' });
      const parsed = frameSchema.safeParse(values);
      if (!parsed.success) return refuse(errorsOf(parsed.error));
      try {
        const id = await createProgram(database.pool, session, season.id, parsed.data);
        return reply.redirect(`/training/programs/${id}`, 303);
      } catch (error) {
        return refuse(fieldErrors(error));
      }
    },
  );
}
