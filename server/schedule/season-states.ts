import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { conflict } from '../web/problem.ts';
import { lockSeason, type SeasonState } from './season-lock.ts';
import { type SeasonWeek, setWeeks } from './season-weeks.ts';

export type { SeasonState } from './season-lock.ts';

export type NewSeason = {
  name: string;
  /** 4 to 8. */
  crewSize?: number;
  weeks?: readonly SeasonWeek[];
  /** The season whose settings it starts with. */
  openedFromId?: string;
};

/** What a state is called in a sentence: "it is ...". */
export const stateInWords: Record<SeasonState, string> = {
  open: 'being prepared',
  running: 'running',
  closed: 'closed',
};

/**
 * Opens a season. The first one of a conference is its current season; any later one waits until it is chosen.
 * @returns its id. @throws Problem 409 when the conference has a season of this name.
 */
export async function openSeason(
  client: Queryable,
  { conferenceId, personId }: Acting,
  { name, crewSize, weeks = [], openedFromId }: NewSeason,
): Promise<string> {
  const { rows } = await client.query<{ id: string; crewSize: number }>(
    `INSERT INTO season (conference_id, name, opened_from_id, crew_size, minimum_games, minimum_opportunities,
                         postseason_places, fixed_model, calibration_in_severity, last_season_in_grades)
     SELECT c.id, $2, $3, COALESCE($4, f.crew_size, c.crew_size), COALESCE(f.minimum_games, 3),
            COALESCE(f.minimum_opportunities, 100), COALESCE(f.postseason_places, 2), f.fixed_model,
            COALESCE(f.calibration_in_severity, false), COALESCE(f.last_season_in_grades, false)
       FROM conference c LEFT JOIN season f ON f.conference_id = c.id AND f.id = $3
      WHERE c.id = $1
     ON CONFLICT (conference_id, name) DO NOTHING
     RETURNING id, crew_size AS "crewSize"`,
    [conferenceId, name, openedFromId ?? null, crewSize ?? null],
  );
  const season = rows[0];
  if (!season) {
    const { rows: taken } = await client.query<{ state: SeasonState }>(
      'SELECT state FROM season WHERE conference_id = $1 AND name = $2',
      [conferenceId, name],
    );
    throw conflict(
      `There is a season "${name}" already; it is ${stateInWords[taken[0]?.state ?? 'open']}. Choose it on the Seasons page, or give the new one another name.`,
      [{ field: 'name', message: 'another season has this name' }],
    );
  }
  if (weeks.length > 0) await setWeeks(client, conferenceId, season.id, weeks);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'opened the season',
    subjectKind: 'season',
    subjectId: season.id,
    after: { name, crewSize: season.crewSize, weeks: weeks.length, openedFrom: openedFromId ?? null },
  });
  return season.id;
}

/** Makes it the season that everybody sees first. Its state stays as it is. */
export async function chooseCurrentSeason(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
): Promise<void> {
  const season = await lockSeason(client, conferenceId, seasonId);
  if (season.isCurrent) return;
  const { rows } = await client.query<{ before: string | null }>(
    `UPDATE conference c SET current_season_id = $2
       FROM conference o WHERE c.id = $1 AND o.id = c.id RETURNING o.current_season_id AS before`,
    [conferenceId, seasonId],
  );
  // Whoever was looking at the new one no longer needs to have chosen it.
  await client.query('UPDATE session SET season_id = NULL WHERE conference_id = $1 AND season_id = $2', [
    conferenceId,
    seasonId,
  ]);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'made the season the current one',
    subjectKind: 'season',
    subjectId: seasonId,
    before: { currentSeason: rows[0]?.before ?? null },
    after: { currentSeason: seasonId },
  });
}

/** From open to running. A season's first report does the same by itself. */
export async function startSeason(client: Queryable, acting: Acting, seasonId: string): Promise<void> {
  await changeState(client, acting, seasonId, 'running', 'started the season');
}

/**
 * Closes a running season: from then on it is read only. Whatever is being written into it is waited for.
 * @throws Problem 409 when it is not running.
 */
export async function closeSeason(client: Queryable, acting: Acting, seasonId: string): Promise<void> {
  await changeState(client, acting, seasonId, 'closed', 'closed the season');
}

/** @throws Problem 409 when it is not closed. */
export async function reopenSeason(client: Queryable, acting: Acting, seasonId: string): Promise<void> {
  await changeState(client, acting, seasonId, 'running', 'reopened the season');
}

const comesFrom: Record<string, SeasonState> = {
  'started the season': 'open',
  'closed the season': 'running',
  'reopened the season': 'closed',
};

async function changeState(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  state: SeasonState,
  action: string,
): Promise<void> {
  const season = await lockSeason(client, conferenceId, seasonId);
  if (season.state !== comesFrom[action]) {
    throw conflict(`Season ${season.name} is ${stateInWords[season.state]}, so it stays as it is.`);
  }
  await client.query(
    `UPDATE season SET state = $3, closed_at = CASE WHEN $3 = 'closed' THEN now() END
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, seasonId, state],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action,
    subjectKind: 'season',
    subjectId: seasonId,
    before: { state: season.state },
    after: { state },
  });
}
