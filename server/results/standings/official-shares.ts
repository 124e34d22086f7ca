import type { Queryable } from '../../database/transaction.ts';
import { type ChancesKept, shareInWords, sharesOf } from '../../duties/report-shares.ts';
import type { Position } from '../../football/positions.ts';
import { chancesKept, isLeftOut } from '../../reports/review/report-shares.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';

/** How much of an official's work in one position the released reports watched and their logs give. */
export interface OfficialShares {
  readonly personId: string;
  readonly position: Position;
  /** Percentages in words, such as `97 %`. */
  readonly watched: string;
  readonly decided: string;
  /** Whether anything was not watched. */
  readonly partlyWatched: boolean;
  /** Duties left out of a game or several, because too little of them was logged. */
  readonly leftOut: readonly { readonly title: string; readonly games: number }[];
}

/** Of each official and position in released reports of a season; of one official or one game only when named. */
export async function readOfficialShares(
  db: Queryable,
  of: { conferenceId: string; seasonId: string; personId?: string; gameId?: string },
): Promise<OfficialShares[]> {
  const { conferenceId, seasonId, personId = null, gameId = null } = of;
  // Each duty of a game once, as the game is counted: a chance that one of its observers watched was watched.
  const once = `
    WITH row AS (
      SELECT n.person_id, n.position, n.duty_key, coalesce(max(g.opportunities), 0) AS opportunities,
             greatest(coalesce(max(g.opportunities), 0), max(n.opportunities + n.set_aside)) AS seen,
             max(n.opportunities + n.set_aside + n.unwatched) AS owed, max(n.likely) AS likely
        FROM opportunity_count n
        JOIN report r ON r.conference_id = n.conference_id AND r.id = n.report_id
        LEFT JOIN game_count g ON g.conference_id = $1 AND g.game_id = r.game_id AND g.person_id = n.person_id
                              AND g.position = n.position AND g.duty_key = n.duty_key
       WHERE n.conference_id = $1 AND ($3::uuid IS NULL OR n.person_id = $3) AND r.season_id = $2
         AND r.state = 'released' AND r.counts_method IS NOT NULL AND ($4::uuid IS NULL OR r.game_id = $4)
       GROUP BY r.game_id, n.person_id, n.position, n.duty_key),
    kept AS (
      SELECT person_id, position, duty_key, opportunities, seen - opportunities AS set_aside,
             greatest(owed - seen, 0) AS unwatched, likely FROM row)`;
  const values = [conferenceId, seasonId, personId, gameId];
  const kept = await db.query<ChancesKept & { personId: string; position: Position }>(
    `${once} SELECT n.person_id AS "personId", n.position, ${chancesKept('n')} FROM kept n
      GROUP BY n.person_id, n.position`,
    values,
  );
  const leftOut = await db.query<{ personId: string; position: Position; dutyKey: string; games: number }>(
    `${once} SELECT n.person_id AS "personId", n.position, n.duty_key AS "dutyKey", count(*)::int AS games
       FROM kept n WHERE ${isLeftOut('n')}
      GROUP BY n.person_id, n.position, n.duty_key ORDER BY games DESC, n.duty_key`,
    values,
  );
  const titles = leftOut.rows.length > 0 ? await readDutyTitles(db, conferenceId, seasonId) : new Map();
  return kept.rows.map(({ personId: official, position, ...chances }) => {
    const shares = sharesOf(chances);
    return {
      personId: official,
      position,
      watched: shareInWords(shares.watched),
      decided: shareInWords(shares.decided),
      partlyWatched: chances.unwatched > 0,
      leftOut: leftOut.rows
        .filter((row) => row.personId === official && row.position === position)
        .map(({ dutyKey, games }) => ({ title: titles.get(dutyKey) ?? dutyKey, games })),
    };
  });
}
