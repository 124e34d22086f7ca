import type { Queryable } from '../database/transaction.ts';
import { type Position, positions } from '../football/positions.ts';
import { groupBy } from '../grading/group-by.ts';
import { defaultPatternSettings } from '../patterns/settings.ts';
import { type Interval, wilsonInterval } from '../patterns/wilson-interval.ts';
import { readDuties } from '../results/patterns/pattern-counts.ts';
import type { CurrentPatterns } from '../results/patterns/season-patterns.ts';
import type { Reading } from '../results/reading.ts';
import { peersMissRate } from '../results/standings/duties-that-matter.ts';
import { type DutyTotal, readDutyTotals } from '../results/standings/duty-totals.ts';
import type { StandingLine } from '../results/standings/season-standings.ts';
import { type PastSeason, seasonsWithReports } from './seasons-with-reports.ts';

/** A duty's chances and misses in one season, with what chance alone leaves open. */
export interface DutyInSeason {
  readonly seasonId: string;
  readonly opportunities: number;
  readonly misses: number;
  readonly interval: Interval;
  /** What the peers missed of theirs, as on the season's own page; null where too few had a chance. */
  readonly othersMissRate: number | null;
}

/** One position that an official worked, season by season. */
export interface PositionOverSeasons {
  readonly position: Position;
  readonly seasons: readonly { readonly season: PastSeason; readonly line: StandingLine }[];
  /** Duties that came up in two seasons or more, those missed most first. */
  readonly duties: readonly {
    readonly key: string;
    /** As the latest of the seasons words it. */
    readonly title: string;
    readonly seasons: readonly DutyInSeason[];
  }[];
}

/** An official over all seasons: the same figures as each season's own pages show. Released reports only. */
export async function officialOverSeasons(
  { pool, results }: Reading,
  conferenceId: string,
  personId: string,
): Promise<{ seasons: PastSeason[]; positions: PositionOverSeasons[] }> {
  const known: SeasonKnown[] = [];
  const titles = new Map<string, string>();
  for (const season of await seasonsWithReports(pool, conferenceId)) {
    const standings = await results.standingsOf(conferenceId, season.id);
    const own = standings.lines.filter((line) => line.personId === personId && line.games > 0);
    if (own.length === 0) continue;
    known.push({
      season,
      lines: own,
      totals: await readDutyTotals(pool, conferenceId, season.id),
      patterns: await results.patternsOf(conferenceId, season.id),
    });
    for (const [key, { title }] of await readDuties(pool, conferenceId, season.id)) titles.set(key, title);
  }
  return {
    seasons: known.map(({ season }) => season),
    positions: positions.flatMap((position): PositionOverSeasons[] => {
      const worked = known.flatMap(({ season, lines }) =>
        lines.filter((line) => line.position === position).map((line) => ({ season, line })),
      );
      if (worked.length === 0) return [];
      const own = known.flatMap((its) => dutiesInSeason(its, personId, position));
      const duties = [...groupBy(own, ({ key }) => key)]
        .map(([key, seasons]) => ({ key, title: titles.get(key) ?? key, seasons }))
        .filter((duty) => duty.seasons.length > 1)
        .sort((one, other) => missesOf(other) - missesOf(one) || one.title.localeCompare(other.title));
      return [{ position, seasons: worked, duties }];
    }),
  };
}

const missesOf = ({ seasons }: { seasons: readonly DutyInSeason[] }) =>
  seasons.reduce((sum, { misses }) => sum + misses, 0);

/** What is known of a season in which the official worked. */
interface SeasonKnown {
  readonly season: PastSeason;
  readonly lines: readonly StandingLine[];
  readonly totals: readonly DutyTotal[];
  readonly patterns: CurrentPatterns;
}

const dutiesInSeason = (
  { season, totals, patterns }: SeasonKnown,
  personId: string,
  position: Position,
): (DutyInSeason & { key: string })[] =>
  totals
    .filter((row) => row.personId === personId && row.position === position)
    .map(({ dutyKey, opportunities, misses }) => ({
      ...{ key: dutyKey, seasonId: season.id, opportunities, misses },
      interval: wilsonInterval(misses, opportunities, defaultPatternSettings.confidence),
      othersMissRate: peersMissRate({ personId, position, patterns, totals }, dutyKey),
    }));

const sumOf = (rows: readonly DutyTotal[]) => ({
  opportunities: rows.reduce((sum, row) => sum + row.opportunities, 0),
  misses: rows.reduce((sum, row) => sum + row.misses, 0),
});

/** A duty of the whole staff in one position, season by season. */
interface StaffDuty {
  readonly position: Position;
  readonly key: string;
  readonly title: string;
  /** In the order of the seasons; null where it did not come up. */
  readonly seasons: readonly ({ opportunities: number; misses: number; officials: number } | null)[];
}

/** Every duty of a position over the seasons, those missed most in the latest season first. */
export async function staffDutiesOverSeasons(
  db: Queryable,
  conferenceId: string,
  position: Position,
): Promise<{ seasons: PastSeason[]; duties: StaffDuty[] }> {
  const seasons = await seasonsWithReports(db, conferenceId);
  const bySeason: Map<string, DutyTotal[]>[] = [];
  const titles = new Map<string, string>();
  for (const { id } of seasons) {
    const rows = await readDutyTotals(db, conferenceId, id, position);
    bySeason.push(groupBy(rows, ({ dutyKey }) => dutyKey));
    for (const [key, { title }] of await readDuties(db, conferenceId, id)) titles.set(key, title);
  }
  const keys = new Set(bySeason.flatMap((byKey) => [...byKey.keys()]));
  const duties = [...keys].map(
    (key): StaffDuty => ({
      ...{ position, key, title: titles.get(key) ?? key },
      seasons: bySeason.map((byKey) => {
        const rows = byKey.get(key);
        return rows ? { ...sumOf(rows), officials: rows.length } : null;
      }),
    }),
  );
  const lately = ({ seasons: cells }: StaffDuty) => cells.at(-1)?.misses ?? -1;
  duties.sort((one, other) => lately(other) - lately(one) || one.title.localeCompare(other.title));
  return { seasons, duties };
}
