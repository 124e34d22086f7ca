import type pg from 'pg';
import { openSeason, type SeasonState } from '../../schedule/season-states.ts';

type Tell<Column> = (column: Column, value: string, problem: string, fix: string) => void;
type Row = { season: string; week?: number };

export const closedSeason = {
  problem: (season: string) => `Season ${season} is closed: it can only be read.`,
  fix: 'Reopen it on the Seasons page first, if it really is to change.',
};

/**
 * Tells of rows whose season is not there, is closed, or lacks the row's week. Seasons are opened by the coordinator,
 * so that a slip of the pen opens none; only the first file of a conference without any opens its first season.
 * @returns whether the row's season is one to import into.
 */
export async function checkSeasons(
  client: pg.ClientBase,
  conferenceId: string,
): Promise<(row: Row, tell: Tell<'season'>, tellWeek?: Tell<'week'>) => boolean> {
  const { rows } = await client.query<{ name: string; state: SeasonState; weeks: number[] }>(
    `SELECT s.name, s.state, ARRAY(SELECT w.number FROM season_week w
                                    WHERE w.conference_id = s.conference_id AND w.season_id = s.id
                                    ORDER BY w.number) AS weeks
       FROM season s WHERE s.conference_id = $1 ORDER BY s.created_at DESC, s.name DESC`,
    [conferenceId],
  );
  const seasons = new Map(rows.map((row) => [row.name, row]));
  let first: string | undefined;
  return ({ season, week }, tell, tellWeek) => {
    if (seasons.size === 0) {
      first ??= season;
      if (first === season) return true;
      tell(
        'season',
        season,
        `The file names two seasons, ${first} and ${season}, and the conference has none yet.`,
        'Import one season first; open the next one on the Seasons page.',
      );
      return false;
    }
    const found = seasons.get(season);
    if (found === undefined) {
      tell(
        'season',
        season,
        `There is no season of this name; there is ${[...seasons.keys()].join(', ')}.`,
        'Correct the name, or open the season on the Seasons page first.',
      );
      return false;
    }
    if (found.state === 'closed') {
      tell('season', season, closedSeason.problem(season), closedSeason.fix);
      return false;
    }
    if (
      tellWeek !== undefined &&
      week !== undefined &&
      found.weeks.length > 0 &&
      !found.weeks.includes(week)
    ) {
      tellWeek(
        'week',
        String(week),
        `Season ${season} has no week ${week}; it has ${weeksInWords(found.weeks)}.`,
        'Correct the number, or add the week on the Seasons page.',
      );
      return false;
    }
    return true;
  };
}

/** Opens the season that the staged rows name, when it is the first one of its conference. */
export async function openFirstSeason(client: pg.ClientBase, conferenceId: string): Promise<void> {
  const { rows } = await client.query<{ season: string }>(
    `SELECT DISTINCT season FROM staged WHERE NOT EXISTS (SELECT FROM season WHERE conference_id = $1)`,
    [conferenceId],
  );
  for (const { season } of rows) await openSeason(client, { conferenceId, personId: null }, { name: season });
}

const weeksInWords = (weeks: readonly number[]) => {
  const [first, last] = [weeks[0]!, weeks.at(-1)!];
  return last - first === weeks.length - 1 ? `weeks ${first} to ${last}` : `weeks ${weeks.join(', ')}`;
};
