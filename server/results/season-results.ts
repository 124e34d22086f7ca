import type pg from 'pg';
import { type Detection, detectionOf } from '../grading/agreement/detection.ts';
import type { ByKind, GradeKind } from '../grading/grade-kinds.ts';
import type { SeasonModel } from '../grading/season-choice.ts';
import type { Calculator } from './calculator.ts';
import { gradingSide } from './detection/grading-side.ts';
import { doubleGamesKind } from './detection/season-detection.ts';
import { groundsOf, KeptResults, type SeasonKey } from './kept-result.ts';
import { cutCountsKind } from './patterns/cut-counts.ts';
import { type CurrentPatterns, patternsGrounds, patternsKind } from './patterns/season-patterns.ts';
import { type CurrentStandings, standingsGrounds, standingsKind } from './standings/season-standings.ts';
import { type SeasonWays, waysKind } from './standings/season-ways.ts';

/** What is computed from a season's released reports, as it is now: kept, and found anew when it has to be. */
export interface SeasonResults {
  /**
   * By the whole grade, unless another kind is named; by the model that the season's whole grade speaks for, which is
   * everywhere the season's own, unless one is named to look at.
   */
  standingsOf(
    conferenceId: string,
    seasonId: string,
    by?: GradeKind,
    model?: SeasonModel | null,
  ): Promise<CurrentStandings>;
  /** By each kind of grade, all of the same released reports. */
  allStandingsOf(conferenceId: string, seasonId: string): Promise<ByKind<CurrentStandings>>;
  /** Beside the standings by the whole grade: how else ranks may be looked at, of the same released reports. */
  waysOf(conferenceId: string, seasonId: string): Promise<{ standings: CurrentStandings; ways: SeasonWays }>;
  patternsOf(conferenceId: string, seasonId: string): Promise<CurrentPatterns>;
  /** What games that two observers saw tell of misses overlooked, and of the observers. */
  detectionOf(conferenceId: string, seasonId: string): Promise<Detection>;
  /** Resolves when the rows of `cut_count` are those of the season's released reports. */
  cutsUpToDate(conferenceId: string, seasonId: string): Promise<void>;
}

/** @param calculator computes; tests give one that counts or fails */
export function seasonResults(
  pool: pg.Pool,
  calculator: Pick<Calculator, 'grade' | 'otherWays' | 'findPatterns' | 'cutGame' | 'pairSamples'>,
  kept: Pick<KeptResults, 'current'> = new KeptResults(pool),
): SeasonResults {
  const whole = standingsKind(calculator, 'whole');
  const ways = { linear: waysKind(calculator, 'linear'), counts: waysKind(calculator, 'counts') };
  const patterns = patternsKind(calculator);
  const cuts = cutCountsKind(calculator);
  const doubleGames = doubleGamesKind(calculator);
  const ownStandings = async (season: SeasonKey, by: GradeKind) => {
    const own = await kept.current(whole, season);
    if (by === 'whole') return own;
    return kept.current(standingsKind(calculator, by, { model: own.model.used, because: 'season' }), season);
  };
  return {
    async standingsOf(conferenceId, seasonId, by = 'whole', model = null) {
      const season = { conferenceId, seasonId };
      const own = await ownStandings(season, by);
      // Who asks for the season's own model is shown the season's own standings, with why they are by it.
      if (!model || model === own.model.used) return own;
      return kept.current(standingsKind(calculator, by, { model, because: 'asked' }), season);
    },
    async allStandingsOf(conferenceId, seasonId) {
      for (;;) {
        const own = await kept.current(whole, { conferenceId, seasonId });
        const calls = await ownStandings({ conferenceId, seasonId }, 'calls');
        const mechanics = await ownStandings({ conferenceId, seasonId }, 'mechanics');
        // A report released in between: ask again, so that the three say the same.
        const revisions = [own, calls, mechanics].map(({ inputRevision }) => inputRevision);
        if (new Set(revisions).size === 1) return { whole: own, calls, mechanics };
      }
    },
    async waysOf(conferenceId, seasonId) {
      for (;;) {
        const current = await kept.current(whole, { conferenceId, seasonId });
        const found = await kept.current(ways[current.model.used], { conferenceId, seasonId });
        const grounds = [current, found].map(({ inputRevision, settings }) =>
          JSON.stringify([inputRevision, settings]),
        );
        if (grounds[0] === grounds[1]) return { standings: current, ways: found };
      }
    },
    patternsOf: (conferenceId, seasonId) => kept.current(patterns, { conferenceId, seasonId }),
    async detectionOf(conferenceId, seasonId) {
      const pairs = await kept.current(doubleGames, { conferenceId, seasonId });
      return detectionOf(pairs, gradingSide(await kept.current(whole, { conferenceId, seasonId })));
    },
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
