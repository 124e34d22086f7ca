import type { Severity } from '../grading/severity.ts';
import type { Reading } from '../results/reading.ts';
import { type PastSeason, seasonsWithReports } from './seasons-with-reports.ts';

/** How far an observer's marks sat from the others', season by season. */
interface ObserverOverSeasons {
  readonly observerId: string;
  /** In the order of the seasons; null where they filed nothing that was released. */
  readonly seasons: readonly (Severity | null)[];
}

/** Every observer of two seasons or more; with who has one season only left out, `once` says how many those are. */
export async function observersOverSeasons(
  { pool, results }: Reading,
  conferenceId: string,
): Promise<{ seasons: PastSeason[]; observers: ObserverOverSeasons[]; once: number }> {
  const seasons = await seasonsWithReports(pool, conferenceId);
  const severities: Map<string, Severity>[] = [];
  for (const { id } of seasons) {
    const { observers } = await results.standingsOf(conferenceId, id);
    severities.push(new Map(observers.map((row) => [row.observer, row])));
  }
  const ids = [...new Set(severities.flatMap((own) => [...own.keys()]))];
  const all = ids.map((observerId) => ({
    observerId,
    seasons: severities.map((own) => own.get(observerId) ?? null),
  }));
  const observers = all.filter((row) => row.seasons.filter(Boolean).length > 1);
  return { seasons, observers, once: all.length - observers.length };
}
