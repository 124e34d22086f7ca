import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
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
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['standings'];

  api.put(
    '/api/seasons/:seasonId/standings/settings',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Who is ranked, and for how many places',
        params: ofSeason,
        body: standingsSettingsSchema,
        response: { 200: settingsSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepStandingsSettings(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/model',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: "The model of a season's standings: fixed, or by its own games",
        params: ofSeason,
        body: modelSettingSchema,
        response: { 200: modelSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepModelSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/calibration',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Whether marks of clips say, beside the reports, how strict observers are',
        description:
          'Of the season’s closed calibration sets, those of observers who handed in. They make surer how strict each observer is, and so what is taken out of grades for it; no grade moves because a clip shows somebody.',
        params: ofSeason,
        body: calibrationSettingSchema,
        response: { 200: calibrationSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepCalibrationSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/last-season',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Whether grades borrow strength from the season before',
        description:
          'What officials showed then stands beside this season’s reports as one more, uncertain, sight of them; how like themselves they stay is told by those who served in both. Whoever has changed much since is served worst by it. Best settled before the season and announced.',
        params: ofSeason,
        body: lastSeasonSettingSchema,
        response: { 200: lastSeasonSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepLastSeasonSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );
}
