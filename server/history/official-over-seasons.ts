import type { Queryable } from '../database/transaction.ts';
import { type Position, positions } from '../football/positions.ts';
import { defaultPatternSettings } from '../patterns/settings.ts';
import { type Interval, wilsonInterval } from '../patterns/wilson-interval.ts';
import { readDuties } from '../results/patterns/pattern-counts.ts';
import type { Reading } from '../results/reading.ts';
import { type DutyTotal, readDutyTotals } from '../results/standings/duty-totals.ts';
import type { StandingLine } from '../results/standings/season-standings.ts';
import { type PastSeason, seasonsWithReports } from './seasons-with-reports.ts';

/** A duty's chances and misses in one season, with what chance alone leaves open. */
export interface DutyInSeason {
  readonly seasonId: string;
  readonly opportunities: number;
  readonly misses: number;
  readonly interval: Interval;
  /** What the others in the position missed of theirs; null where they had no chance. */
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
  const seasons: PastSeason[] = [];
  const lines: { season: PastSeason; line: StandingLine }[] = [];
  const totals = new Map<string, DutyTotal[]>();
  const titles = new Map<string, string>();
  for (const season of await seasonsWithReports(pool, conferenceId)) {
    const standings = await results.standingsOf(conferenceId, season.id);
    const own = standings.lines.filter((line) => line.personId === personId && line.games > 0);
    if (own.length === 0) continue;
    seasons.push(season);
    lines.push(...own.map((line) => ({ season, line })));
    totals.set(season.id, await readDutyTotals(pool, conferenceId, season.id));
    for (const [key, { title }] of await readDuties(pool, conferenceId, season.id)) titles.set(key, title);
  }
  return {
    seasons,
    positions: positions.flatMap((position): PositionOverSeasons[] => {
      const worked = lines.filter(({ line }) => line.position === position);
      if (worked.length === 0) return [];
      const keys = new Set(
        [...totals.values()].flatMap((rows) =>
          rows
            .filter((row) => row.personId === personId && row.position === position)
            .map(({ dutyKey }) => dutyKey),
        ),
      );
      const duties = [...keys]
        .map((key) => ({
          key,
          title: titles.get(key) ?? key,
          seasons: seasons.flatMap(({ id }) => dutyInSeason(id, totals.get(id)!, personId, position, key)),
        }))
        .filter((duty) => duty.seasons.length > 1)
        .sort((one, other) => missesOf(other) - missesOf(one) || one.title.localeCompare(other.title));
      return [{ position, seasons: worked, duties }];
    }),
  };
}

const missesOf = ({ seasons }: { seasons: readonly DutyInSeason[] }) =>
  seasons.reduce((sum, { misses }) => sum + misses, 0);

function dutyInSeason(
  seasonId: string,
  totals: readonly DutyTotal[],
  personId: string,
  position: Position,
  dutyKey: string,
): DutyInSeason[] {
  const rows = totals.filter((row) => row.position === position && row.dutyKey === dutyKey);
  const own = rows.find((row) => row.personId === personId);
  if (!own) return [];
  const others = sumOf(rows.filter((row) => row !== own));
  return [
    {
      seasonId,
      opportunities: own.opportunities,
      misses: own.misses,
      interval: wilsonInterval(own.misses, own.opportunities, defaultPatternSettings.confidence),
      othersMissRate: others.opportunities > 0 ? others.misses / others.opportunities : null,
    },
  ];
}

const sumOf = (rows: readonly DutyTotal[]) => ({
  opportunities: rows.reduce((sum, row) => sum + row.opportunities, 0),
  misses: rows.reduce((sum, row) => sum + row.misses, 0),
});

/** A duty of the whole staff in one position, season by season. */
export interface StaffDuty {
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
    const byKey = new Map<string, DutyTotal[]>();
    for (const row of rows) byKey.set(row.dutyKey, [...(byKey.get(row.dutyKey) ?? []), row]);
    bySeason.push(byKey);
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
