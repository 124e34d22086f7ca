import {
  type ConferenceDuty,
  conferenceDuties,
  type WeekPattern,
  weekPatterns,
} from './conference-patterns.ts';
import { type CountRow, prepareCounts } from './counts.ts';
import { type CrewPattern, crewPatterns } from './crew-patterns.ts';
import type { Family } from './family.ts';
import {
  compareOfficials,
  type OfficialPattern,
  officialPatterns,
  officialStrengths,
  type Strength,
} from './official-patterns.ts';
import { completeSettings, type PatternSettings } from './settings.ts';

/** All that a season's counts tell, with the families the statements were made in. */
export interface SeasonPatterns {
  settings: PatternSettings;
  /** Repeat misses of officials, dearest first. */
  patterns: OfficialPattern[];
  strengths: Strength[];
  crews: CrewPattern[];
  /** The conference's own misses, dearest first: training topics. */
  conference: ConferenceDuty[];
  weeks: WeekPattern[];
  families: { officials: Family; strengths: Family; crews: Family; weeks: Family };
  /** Rows not used because a second observer saw the same official in the same game. */
  rowsOfSecondObservers: number;
}

/**
 * Patterns of one season of one conference.
 *
 * @param rows counts per official, game, observer, duty and cut; see `CountRow`
 * @param given what differs from `defaultPatternSettings`
 * @throws RangeError naming the row or setting that cannot be used
 */
export function findPatterns(
  rows: readonly CountRow[],
  given: Partial<PatternSettings> = {},
): SeasonPatterns {
  const settings = completeSettings(given);
  const counts = prepareCounts(rows);
  const compared = compareOfficials(counts);
  const officials = officialPatterns(counts, compared, settings);
  const strengths = officialStrengths(compared, settings);
  const crews = crewPatterns(counts, settings);
  const weeks = weekPatterns(counts, settings);
  return {
    settings,
    patterns: officials.patterns,
    strengths: strengths.strengths,
    crews: crews.patterns,
    conference: conferenceDuties(counts, settings),
    weeks: weeks.patterns,
    families: {
      officials: officials.family,
      strengths: strengths.family,
      crews: crews.family,
      weeks: weeks.family,
    },
    rowsOfSecondObservers: counts.rowsOfSecondObservers,
  };
}
