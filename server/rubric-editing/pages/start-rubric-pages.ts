import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { startingRubricFor } from '../../duties/starting-rubric.ts';
import { hasRubric, rubricsToTakeOver } from '../../rubric/read-rubric.ts';
import { RubricChangeRefused } from '../../rubric/refusals.ts';
import { codeOfConference, startRubric } from '../../rubric/start-rubric.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { answerStep } from '../../schedule/season-steps.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { ofSeason } from './shown-rubric.ts';

/** A season's rubric begun, from the starting one or an earlier season's, and confirmed once it was looked through. */
export async function startRubricPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forCoordinator = { policy: policies.coordinator };

  pages.get(
    '/rubric',
    { config: { policy: policies.staff }, schema: { hide: true } },
    async (request, reply) => {
      const season = await seasonInView(database, request);
      return season ? reply.redirect(`/seasons/${season.id}/rubric`) : noSeason(reply);
    },
  );

  async function startPage(reply: FastifyReply, season: Season, wrong?: string, from = 'starting') {
    const coordinator = sessionOf(reply.request).roles.has('coordinator');
    const earlier = coordinator ? await rubricsToTakeOver(database.pool, season.conferenceId, season.id) : [];
    const code = await codeOfConference(database.pool, season.conferenceId);
    return reply.page(
      'rubric-editing/start',
      {
        season,
        code,
        coordinator,
        wrong,
        sources: [
          { value: 'starting', name: 'The starting rubric', duties: startingRubricFor(code).length },
          ...earlier.map(({ seasonId, name, duties }) => ({
            value: seasonId,
            name: `That of ${name}`,
            duties,
          })),
        ].map((source) => ({ ...source, chosen: source.value === from })),
      },
      { title: 'Rubric' },
    );
  }

  pages.get(
    '/seasons/:seasonId/rubric/start',
    { config: { policy: policies.staff }, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      if (await hasRubric(database, conferenceId, season.id)) {
        return reply.redirect(`/seasons/${season.id}/rubric`, 303);
      }
      return startPage(reply, season);
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/start',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const from = z.union([z.literal('starting'), z.uuid()]).safeParse(textOf(formOf(request.body).from));
      if (!from.success) return startPage(reply.code(400), season, 'Choose which rubric to begin with.');
      try {
        await inTransaction(database.pool, (client) =>
          startRubric(
            client,
            { conferenceId, personId },
            season.id,
            from.data === 'starting' ? 'starting' : { seasonId: from.data },
          ),
        );
      } catch (error) {
        if (!(error instanceof RubricChangeRefused)) throw error;
        return startPage(reply.code(409), season, 'That season has no rubric to take over; choose another.');
      }
      return reply.redirect(`/seasons/${season.id}/rubric?done=begun`, 303);
    },
  );

  pages.post(
    '/seasons/:seasonId/rubric/confirm',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      if (!(await hasRubric(database, conferenceId, season.id))) {
        return reply.redirect(`/seasons/${season.id}/rubric/start`, 303);
      }
      await inTransaction(database.pool, (client) =>
        answerStep(client, { conferenceId, personId }, season.id, 'rubric', 'confirmed'),
      );
      return reply.redirect(`/seasons/${season.id}/rubric?done=confirmed`, 303);
    },
  );
}
