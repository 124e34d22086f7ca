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
  // Each duty of a game once, as the game is counted: a chance that one of its observers watched was watched. What the
  // reports say and what the game counts are put under each other and not joined: where many conferences share the
  // tables, the planner guesses too few rows and would look for each row's other half among all of its official's.
  const { rows } = await db.query<ChancesKept & { personId: string; position: Position; leftOut: string[] }>(
    `WITH released AS MATERIALIZED (
       SELECT r.id, r.game_id FROM report r
        WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND r.counts_method IS NOT NULL
          AND ($4::uuid IS NULL OR r.game_id = $4)),
     said AS (
       SELECT r.game_id, n.person_id, n.position, n.duty_key, NULL::int AS counted,
              n.opportunities + n.set_aside AS seen, n.opportunities + n.set_aside + n.unwatched AS owed, n.likely
         FROM released r JOIN opportunity_count n ON n.conference_id = $1 AND n.report_id = r.id
        WHERE $3::uuid IS NULL OR n.person_id = $3
        UNION ALL
       SELECT g.game_id, g.person_id, g.position, g.duty_key, g.opportunities, NULL, NULL, NULL
         FROM (SELECT DISTINCT game_id FROM released) r
         JOIN game_count g ON g.conference_id = $1 AND g.game_id = r.game_id
        WHERE $3::uuid IS NULL OR g.person_id = $3),
     row AS (
       SELECT person_id, position, duty_key, coalesce(max(counted), 0) AS opportunities,
              greatest(coalesce(max(counted), 0), max(seen)) AS seen, max(owed) AS owed, max(likely) AS likely
         FROM said GROUP BY game_id, person_id, position, duty_key HAVING max(owed) IS NOT NULL),
     kept AS (
       SELECT person_id, position, duty_key, opportunities, seen - opportunities AS set_aside,
              greatest(owed - seen, 0) AS unwatched, likely FROM row)
     SELECT n.person_id AS "personId", n.position, ${chancesKept('n')},
            coalesce(array_agg(n.duty_key ORDER BY n.duty_key) FILTER (WHERE ${isLeftOut('n')}), '{}') AS "leftOut"
       FROM kept n GROUP BY n.person_id, n.position`,
    [conferenceId, seasonId, personId, gameId],
  );
  const titles = rows.some(({ leftOut }) => leftOut.length > 0)
    ? await readDutyTitles(db, conferenceId, seasonId)
    : new Map<string, string>();
  return rows.map(({ personId: official, position, leftOut, ...chances }) => {
    const shares = sharesOf(chances);
    return {
      personId: official,
      position,
      watched: shareInWords(shares.watched),
      decided: shareInWords(shares.decided),
      partlyWatched: chances.unwatched > 0,
      leftOut: mostGamesFirst(leftOut).map(([dutyKey, games]) => ({
        title: titles.get(dutyKey) ?? dutyKey,
        games,
      })),
    };
  });
}

/** How often each key is there; of keys that are there equally often the first stays first. */
function mostGamesFirst(keys: readonly string[]): [string, number][] {
  const games = new Map<string, number>();
  for (const key of keys) games.set(key, (games.get(key) ?? 0) + 1);
  return [...games].sort(([, one], [, other]) => other - one);
}
