import type pg from 'pg';
import type { Calculator } from './calculator.ts';
import { groundsOf, KeptResults } from './kept-result.ts';
import { cutCountsKind } from './patterns/cut-counts.ts';
import { type CurrentPatterns, patternsGrounds, patternsKind } from './patterns/season-patterns.ts';
import { type CurrentStandings, standingsGrounds, standingsKind } from './standings/season-standings.ts';

/** What is computed from a season's released reports, as it is now: kept, and found anew when it has to be. */
export interface SeasonResults {
  standingsOf(conferenceId: string, seasonId: string): Promise<CurrentStandings>;
  patternsOf(conferenceId: string, seasonId: string): Promise<CurrentPatterns>;
  /** Resolves when the rows of `cut_count` are those of the season's released reports. */
  cutsUpToDate(conferenceId: string, seasonId: string): Promise<void>;
}

/** @param calculator computes; tests give one that counts or fails */
export function seasonResults(
  pool: pg.Pool,
  calculator: Pick<Calculator, 'grade' | 'findPatterns' | 'cutReport'>,
): SeasonResults {
  const kept = new KeptResults(pool);
  const standings = standingsKind(calculator);
  const patterns = patternsKind(calculator);
  const cuts = cutCountsKind(calculator);
  return {
    standingsOf: (conferenceId, seasonId) => kept.current(standings, { conferenceId, seasonId }),
    patternsOf: (conferenceId, seasonId) => kept.current(patterns, { conferenceId, seasonId }),
    async cutsUpToDate(conferenceId, seasonId) {
      await kept.current(cuts, { conferenceId, seasonId });
    },
  };
}

/**
 * An SQL expression of a row `s` of `season`: all that standings and patterns rest on now, as jsonb. Kept beside what
 * is made from them, it tells later whether their figures are still the season's.
 */
export const groundsOfFigures = groundsOf([standingsGrounds, patternsGrounds]);
