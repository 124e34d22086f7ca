import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { keepReplyWindow, replyWindow, replyWindowSchema } from '../../reports/review/reply-window.ts';
import {
  keepStandingsSettings,
  standingsSettingsSchema,
} from '../../results/standings/standings-settings.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { answerStep } from '../../schedule/season-steps.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const settingsSchema = replyWindowSchema.extend(standingsSettingsSchema.shape);
const fields = ['replyDays', 'minimumGames', 'minimumOpportunities', 'places'] as const;

/** For how long officials may answer, and who is ranked: proposed, looked through and kept for a season. */
export async function settingsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forCoordinator = { policy: policies.coordinator };

  const show = (reply: FastifyReply, season: Season, values: object, errors: FormErrors = {}) =>
    reply.page('setup/settings', { season, values, errors }, { title: 'Settings' });

  pages.get('/settings', { config: forCoordinator, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return season ? reply.redirect(`/seasons/${season.id}/settings`) : noSeason(reply);
  });

  pages.get(
    '/seasons/:seasonId/settings',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { minimumGames, minimumOpportunities, postseasonPlaces: places } = season;
      const { replyDays } = await replyWindow(database.pool, conferenceId);
      return show(reply, season, { replyDays, minimumGames, minimumOpportunities, places });
    },
  );

  pages.post(
    '/seasons/:seasonId/settings',
    { config: forCoordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const acting = sessionOf(request);
      const season = await seasonOf(database, acting.conferenceId, request.params.seasonId);
      const form: Form = formOf(request.body);
      const typed = Object.fromEntries(fields.map((field) => [field, textOf(form[field]) || undefined]));
      const parsed = settingsSchema.safeParse(typed);
      if (!parsed.success) return show(reply.code(400), season, form, errorsBesideLabels(parsed.error));
      const { replyDays, ...standings } = parsed.data;
      await inTransaction(database.pool, async (client) => {
        await answerStep(client, acting, season.id, 'settings', 'confirmed');
        await keepReplyWindow(client, acting, { replyDays });
        await keepStandingsSettings(client, acting, season.id, standings);
      });
      return reply.redirect('/setup?done=settings', 303);
    },
  );
}
