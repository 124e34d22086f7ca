import { type PersonName, readPeople } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Season } from '../database/generated/client.ts';
import type { OfficialFacts } from '../desk/official-desk.ts';
import { readOfficialFacts } from '../desk/stores/official-facts-store.ts';
import { type FollowedPoint, followedPoints } from '../development/followed-points.ts';
import type { Position } from '../football/positions.ts';
import { lettersAbout } from '../letters/kept-letters.ts';
import { releasedMarksAbout } from '../reports/review/mark-lines.ts';
import { readMarkedChances } from '../results/marked-chances.ts';
import { type DutyName, readDuties } from '../results/patterns/pattern-counts.ts';
import type { CurrentPatterns } from '../results/patterns/season-patterns.ts';
import type { SeasonResults } from '../results/season-results.ts';
import {
  type CallTally,
  callTally,
  type MechanicsTally,
  mechanicsTally,
} from '../results/standings/call-tally.ts';
import {
  type DutyThatMatters,
  dutiesToWorkOn,
  dutiesWentWell,
} from '../results/standings/duties-that-matter.ts';
import { readDutyTotals } from '../results/standings/duty-totals.ts';
import { kindsOf } from '../results/standings/explained-grade.ts';
import { officialSeason } from '../results/standings/official-season.ts';
import { type OfficialShares, readOfficialShares } from '../results/standings/official-shares.ts';
import { readSeasonCounts } from '../results/standings/season-counts.ts';
import { notFound } from '../web/problem.ts';
import { type NotedChance, notedChances } from './noted-chances.ts';

type Evaluation = ReturnType<typeof officialSeason>;

/** One position of an official's season, as released. */
export interface WorkedPosition {
  position: Position;
  games: number;
  grades: Evaluation['positions'][number]['grades'];
  kinds: ReturnType<typeof kindsOf>;
  shares: OfficialShares | undefined;
  calls: CallTally;
  mechanics: MechanicsTally;
  toWorkOn: DutyThatMatters[];
  wentWell: DutyThatMatters[];
  /** The trend over the weeks, where it was looked for. */
  trend: CurrentPatterns['officialTrends'][number]['trend'] | undefined;
}

/** All of an official's season that rests on released reports, with what was said of it. */
export interface WholeSeason {
  season: Season;
  official: PersonName;
  duties: ReadonlyMap<string, DutyName>;
  positions: WorkedPosition[];
  games: Evaluation['games'];
  noted: NotedChance[];
  /** Where each game's film is, of those noted on. */
  films: ReadonlyMap<string, string | null>;
  points: FollowedPoint[];
  letters: Awaited<ReturnType<typeof lettersAbout>>;
  facts: OfficialFacts;
}

/** @throws Problem 404 when the conference has no such person. */
export async function readWholeSeason(
  database: Database,
  results: SeasonResults,
  season: Season,
  personId: string,
): Promise<WholeSeason> {
  const { pool } = database;
  const { conferenceId, id: seasonId } = season;
  const official = (await readPeople(database, conferenceId)).get(personId);
  if (!official) throw notFound('official');
  const of = { conferenceId, seasonId, personId };
  const counts = await readSeasonCounts(pool, conferenceId, seasonId, personId);
  const evaluation = officialSeason(counts, personId);
  const standings = await results.allStandingsOf(conferenceId, seasonId);
  const patterns = await results.patternsOf(conferenceId, seasonId);
  const duties = await readDuties(pool, conferenceId, seasonId);
  const totals = await readDutyTotals(pool, conferenceId, seasonId);
  const shares = await readOfficialShares(pool, of);
  const marks = (await releasedMarksAbout(pool, conferenceId, personId)).filter(
    (mark) => mark.seasonId === seasonId,
  );
  const noted = notedChances(await readMarkedChances(pool, of), marks);
  return {
    season,
    official,
    duties,
    positions: evaluation.positions.map(({ position, games, grades }): WorkedPosition => {
      const own = counts.filter((row) => row.position === position);
      const its = { personId, position, own, grade: grades.whole, patterns, duties, totals };
      const missed = noted.filter((one) => one.isMiss && one.position === position);
      return {
        position,
        games,
        grades,
        kinds: kindsOf(grades, standings, { personId, position }),
        shares: shares.find((one) => one.position === position),
        calls: callTally(
          own,
          missed.map(({ chief }) => chief.finding),
        ),
        mechanics: mechanicsTally(own),
        toWorkOn: dutiesToWorkOn(its),
        wentWell: dutiesWentWell(its),
        trend: patterns.officialTrends.find((one) => one.official === personId && one.position === position)
          ?.trend,
      };
    }),
    games: evaluation.games,
    noted,
    films: await readFilms(database, conferenceId, seasonId),
    points: await followedPoints(database, results, conferenceId, seasonId, personId),
    letters: await lettersAbout(database, conferenceId, seasonId, personId),
    facts: await readOfficialFacts(pool, conferenceId, seasonId, personId),
  };
}

async function readFilms(
  { pool }: Pick<Database, 'pool'>,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, string | null>> {
  const { rows } = await pool.query<{ id: string; filmLink: string | null }>(
    'SELECT id, film_link AS "filmLink" FROM game WHERE conference_id = $1 AND season_id = $2',
    [conferenceId, seasonId],
  );
  return new Map(rows.map(({ id, filmLink }) => [id, filmLink]));
}
