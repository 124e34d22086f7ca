import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import {
  countedBefore,
  decidedSetting,
  decidedSettingSchema,
  keepDecidedSetting,
} from '../../reports/review/decided-setting.ts';
import { keepReplyWindow, replyWindow, replyWindowSchema } from '../../reports/review/reply-window.ts';
import { keepReportDays, reportDaysOf, reportDaysSchema } from '../../reports/review/report-due.ts';
import { nameOfSeasonBefore } from '../../results/standings/season-before.ts';
import {
  calibrationSettingSchema,
  keepCalibrationSetting,
  keepLastSeasonSetting,
  keepStandingsSettings,
  lastSeasonSettingSchema,
  standingsSettingsSchema,
  takenChoices,
  takenOrLeft,
} from '../../results/standings/standings-settings.ts';
import { counted as inWords } from '../../schedule/pages/elsewhere.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { answerStep } from '../../schedule/season-steps.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
/** Told after a change that counted reports again. */
const countedAgain = z.object({
  counted: z.coerce.number().int().min(0).optional(),
  changed: z.coerce.number().int().min(0).default(0),
});
const settingsSchema = replyWindowSchema
  .extend(reportDaysSchema.shape)
  .extend(decidedSettingSchema.partial().shape)
  .extend(standingsSettingsSchema.shape)
  .extend(calibrationSettingSchema.partial().shape)
  .extend(lastSeasonSettingSchema.partial().shape);
const fields = [
  'reportDays',
  'replyDays',
  'decidedShare',
  'minimumGames',
  'minimumOpportunities',
  'places',
  'calibration',
  'lastSeason',
] as const;

const calibrationNames: Readonly<Record<(typeof takenChoices)[number], string>> = {
  'left out': 'Reports on games alone',
  'taken in': 'Reports, and marks of the same clips',
};

/** For how long officials may answer, what counts in a report, and who is ranked: proposed, looked through and kept for a season. */
export async function settingsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forCoordinator = { policy: policies.coordinator };

  const show = async (
    reply: FastifyReply,
    season: Season,
    values: object,
    more: { errors?: FormErrors; again?: string | 0 | undefined; before?: string | 0 } = {},
  ) => {
    const chosenOf = (name: 'calibration' | 'lastSeason', kept: boolean) => {
      const typed = name in values && (values as Record<string, unknown>)[name];
      return typed || takenOrLeft(kept);
    };
    const chosen = chosenOf('calibration', season.calibrationInSeverity);
    const before = await nameOfSeasonBefore(database.pool, season.conferenceId, season.id);
    const lastSeasonNames = {
      'left out': `${season.name} alone`,
      'taken in': `${season.name}, and what officials showed in ${before}`,
    };
    const lastSeason = takenChoices.map((value) => ({
      value,
      name: lastSeasonNames[value],
      here: value === chosenOf('lastSeason', season.lastSeasonInGrades),
    }));
    const calibration = takenChoices.map((value) => ({
      value,
      name: calibrationNames[value],
      here: value === chosen,
    }));
    return reply.page(
      'setup/settings',
      { season, values, calibration, seasonBefore: before, lastSeason, errors: {}, ...more },
      { title: 'Settings' },
    );
  };

  pages.get('/settings', { config: forCoordinator, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return season ? reply.redirect(`/seasons/${season.id}/settings`) : noSeason(reply);
  });

  pages.get(
    '/seasons/:seasonId/settings',
    { config: forCoordinator, schema: { hide: true, params: ofSeason, querystring: countedAgain } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { minimumGames, minimumOpportunities, postseasonPlaces: places } = season;
      const { replyDays } = await replyWindow(database, conferenceId);
      const { reportDays } = await reportDaysOf(database, conferenceId);
      const { decidedShare } = await decidedSetting(database, conferenceId);
      const { counted, changed } = request.query;
      const values = { reportDays, replyDays, decidedShare, minimumGames, minimumOpportunities, places };
      const again =
        counted &&
        `${inWords(counted, 'report')} counted again, ${changed === 0 ? 'none' : changed} of them changed.`;
      const old = await countedBefore(database.pool, conferenceId);
      const before =
        old &&
        `${old === 1 ? '1 report was' : `${old} reports were`} counted by an earlier version of the program, when a mark could make a chance of its own, or with another share while the season was closed. Keep these settings to count ${old === 1 ? 'it' : 'them'} again.`;
      return show(reply, season, values, { again, before });
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
      if (!parsed.success)
        return show(reply.code(400), season, form, { errors: errorsBesideLabels(parsed.error) });
      const { reportDays, replyDays, decidedShare, calibration, lastSeason, ...standings } = parsed.data;
      const again = await inTransaction(database.pool, async (client) => {
        await answerStep(client, acting, season.id, 'settings', 'confirmed');
        await keepReportDays(client, acting, { reportDays });
        await keepReplyWindow(client, acting, { replyDays });
        await keepStandingsSettings(client, acting, season.id, standings);
        if (calibration) await keepCalibrationSetting(client, acting, season.id, { calibration });
        if (lastSeason) await keepLastSeasonSetting(client, acting, season.id, { lastSeason });
        return decidedShare === undefined
          ? undefined
          : await keepDecidedSetting(client, acting, { decidedShare });
      });
      if (again && again.counted > 0) {
        const told = `counted=${again.counted}&changed=${again.changed}`;
        return reply.redirect(`/seasons/${season.id}/settings?${told}`, 303);
      }
      return reply.redirect('/setup?done=settings', 303);
    },
  );
}
