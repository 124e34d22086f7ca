import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type SeasonModel, seasonModels } from '../../grading/season-choice.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import type { StandingsSettings } from './season-standings.ts';

/** The model that a season's standings are by: fixed, or the one that its own games speak for. */
export const modelSettingSchema = z.object({
  model: z.enum(['by its games', ...seasonModels], {
    error: `model must be one of: by its games, ${seasonModels.join(', ')}`,
  }),
});

/** Whether marks of clips say how strict observers are, beside the reports. */
export const takenChoices = ['left out', 'taken in'] as const;
export const calibrationSettingSchema = z.object({
  calibration: z.enum(takenChoices, {
    error: `calibration must be one of: ${takenChoices.join(', ')}`,
  }),
});

/** Whether what officials showed in the season before stands beside this season's reports. */
export const lastSeasonSettingSchema = z.object({
  lastSeason: z.enum(takenChoices, {
    error: `lastSeason must be one of: ${takenChoices.join(', ')}`,
  }),
});

/** Who is ranked, and how many places there are: the coordinator's to set. */
export const standingsSettingsSchema = z.object({
  minimumGames: wholeNumber('minimumGames', 1, 50),
  minimumOpportunities: wholeNumber('minimumOpportunities', 1, 100_000),
  places: wholeNumber('places', 1, 100),
});

/** Fixes a season's model, or leaves it to the season's own games, and says so in the audit trail. */
export async function keepModelSetting(
  client: Queryable,
  actor: PersonActing,
  seasonId: string,
  { model }: z.infer<typeof modelSettingSchema>,
): Promise<void> {
  const { rows } = await client.query<{ fixedModel: SeasonModel | null }>(
    'SELECT fixed_model AS "fixedModel" FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE',
    [actor.conferenceId, seasonId],
  );
  await client.query('UPDATE season SET fixed_model = $3 WHERE conference_id = $1 AND id = $2', [
    actor.conferenceId,
    seasonId,
    model === 'by its games' ? null : model,
  ]);
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'model of the standings changed',
    subjectKind: 'season',
    subjectId: seasonId,
    before: { model: rows[0]?.fixedModel ?? 'by its games' },
    after: { model },
  });
}

/** Takes marks of clips in, or leaves them out, and says so in the audit trail. */
export const keepCalibrationSetting = (
  client: Queryable,
  actor: PersonActing,
  seasonId: string,
  { calibration }: z.infer<typeof calibrationSettingSchema>,
): Promise<void> =>
  keepTaken(client, actor, seasonId, {
    column: 'calibration_in_severity',
    field: 'calibration',
    action: 'marks of clips in severity changed',
    chosen: calibration,
  });

/** Borrows strength from the season before, or goes by this one alone, and says so in the audit trail. */
export const keepLastSeasonSetting = (
  client: Queryable,
  actor: PersonActing,
  seasonId: string,
  { lastSeason }: z.infer<typeof lastSeasonSettingSchema>,
): Promise<void> =>
  keepTaken(client, actor, seasonId, {
    column: 'last_season_in_grades',
    field: 'lastSeason',
    action: 'season before in the grades changed',
    chosen: lastSeason,
  });

/** The settings of a page are kept together: what stays as it was is no change. */
async function keepTaken(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  seasonId: string,
  { column, field, action, chosen }: TakenSetting,
): Promise<void> {
  const { rows } = await client.query<{ taken: boolean }>(
    `SELECT ${column} AS taken FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE`,
    [conferenceId, seasonId],
  );
  const before = takenOrLeft(rows[0]?.taken === true);
  if (before === chosen) return;
  await client.query(`UPDATE season SET ${column} = $3 WHERE conference_id = $1 AND id = $2`, [
    conferenceId,
    seasonId,
    chosen === 'taken in',
  ]);
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action, subjectKind: 'season', subjectId: seasonId },
    before: { [field]: before },
    after: { [field]: chosen },
  });
}

interface TakenSetting {
  /** Of `season`. */
  readonly column: 'calibration_in_severity' | 'last_season_in_grades';
  /** As the API and the history call it. */
  readonly field: string;
  readonly action: string;
  readonly chosen: (typeof takenChoices)[number];
}

export const takenOrLeft = (taken: boolean): (typeof takenChoices)[number] =>
  taken ? 'taken in' : 'left out';

/** Keeps a season's settings and says so in the audit trail. */
export async function keepStandingsSettings(
  client: Queryable,
  actor: PersonActing,
  seasonId: string,
  settings: StandingsSettings,
): Promise<void> {
  const { rows } = await client.query<StandingsSettings>(
    `SELECT minimum_games AS "minimumGames", minimum_opportunities AS "minimumOpportunities",
            postseason_places AS places
       FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE`,
    [actor.conferenceId, seasonId],
  );
  await client.query(
    `UPDATE season SET minimum_games = $3, minimum_opportunities = $4, postseason_places = $5
      WHERE conference_id = $1 AND id = $2`,
    [actor.conferenceId, seasonId, settings.minimumGames, settings.minimumOpportunities, settings.places],
  );
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'standings settings changed',
    subjectKind: 'season',
    subjectId: seasonId,
    before: rows[0],
    after: settings,
  });
}
