import type { FastifyInstance } from 'fastify';
import type { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { ofSeason, settingsSchema } from './standings-schemas.ts';
import {
  calibrationSettingSchema,
  keepCalibrationSetting,
  keepLastSeasonSetting,
  keepModelSetting,
  keepStandingsSettings,
  lastSeasonSettingSchema,
  modelSettingSchema,
  standingsSettingsSchema,
} from './standings-settings.ts';

/** What the standings of a season rest on, under /api. */
export async function standingsSettingsRoutes(app: FastifyInstance): Promise<void> {
  const { database } = app;

  /** Keeps one setting of a season and answers it as it was sent. */
  function setting<Sent extends z.ZodType>(
    name: string,
    words: { summary: string; description?: string },
    body: Sent,
    keep: (
      client: Queryable,
      actor: PersonActing,
      seasonId: string,
      sent: z.output<Sent>,
    ) => Promise<unknown>,
    answer: z.ZodType = body,
  ) {
    app.put(
      `/api/seasons/:seasonId/standings/${name}`,
      {
        config: { policy: policies.coordinator },
        schema: { tags: ['standings'], ...words, params: ofSeason, body, response: { 200: answer } },
      },
      async (request) => {
        const actor = sessionOf(request);
        const { seasonId } = request.params as z.output<typeof ofSeason>;
        const season = await seasonOf(database, actor.conferenceId, seasonId);
        const sent = request.body as z.output<Sent>;
        await inTransaction(database.pool, (client) => keep(client, actor, season.id, sent));
        return sent;
      },
    );
  }

  setting(
    'settings',
    { summary: 'Who is ranked, and for how many places' },
    standingsSettingsSchema,
    keepStandingsSettings,
    settingsSchema,
  );
  setting(
    'model',
    { summary: "The model of a season's standings: fixed, or by its own games" },
    modelSettingSchema,
    keepModelSetting,
  );
  setting(
    'calibration',
    {
      summary: 'Whether marks of clips say, beside the reports, how strict observers are',
      description:
        'Of the season’s closed calibration sets, those of observers who handed in. They make surer how strict each observer is, and so what is taken out of grades for it; no grade moves because a clip shows somebody.',
    },
    calibrationSettingSchema,
    keepCalibrationSetting,
  );
  setting(
    'last-season',
    {
      summary: 'Whether grades borrow strength from the season before',
      description:
        'What officials showed then stands beside this season’s reports as one more, uncertain, sight of them; how like themselves they stay is told by those who served in both. Whoever has changed much since is served worst by it. Best settled before the season and announced.',
    },
    lastSeasonSettingSchema,
    keepLastSeasonSetting,
  );
}
