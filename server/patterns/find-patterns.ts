import {
  type ConferenceDuty,
  conferenceDuties,
  type WeekPattern,
  weekPatterns,
} from './conference-patterns.ts';
import { type CountRow, prepareCounts } from './counts.ts';
import { type CrewPattern, crewPatterns } from './crew-patterns.ts';
import type { Family } from './family.ts';
import { type OfficialSpread, officialSpread } from './follow-up/official-spread.ts';
import { usualEvents } from './game-variation.ts';
import { type OfficialTrend, officialTrends } from './grade-trends.ts';
import { compareOfficials, type OfficialPattern, officialPatterns } from './official-patterns.ts';
import { officialStrengths, type Strength } from './official-strengths.ts';
import { completeSettings, type PatternSettings } from './settings.ts';
import { judgeTrends, type TrendFamily } from './trend.ts';

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
  /** Of all that each official misses, by weight: what letters tell of grades over the weeks. */
  officialTrends: OfficialTrend[];
  /** Who are no peers of others at a duty and position (`placeAt`), being found there themselves. */
  leftOut: Record<string, string[]>;
  /** How much officials differ at a duty: what development points are followed with. */
  spread: OfficialSpread;
  families: { officials: Family; strengths: Family; crews: Family; weeks: Family };
  /** Trends of what is listed (misses, strengths, crews), of the conference's duties, of officials as a whole. */
  trendFamilies: { listed: TrendFamily; conference: TrendFamily; officials: TrendFamily };
}

/**
 * Patterns of one season of one conference.
 *
 * @param rows counts per official, game, duty and cut; see `CountRow`
 * @param given what differs from `defaultPatternSettings`
 * @throws RangeError naming the row or setting that cannot be used
 */
export function findPatterns(
  rows: readonly CountRow[],
  given: Partial<PatternSettings> = {},
): SeasonPatterns {
  const settings = completeSettings(given);
  const counts = prepareCounts(rows);
  const usual = usualEvents(counts, 'misses');
  const compared = compareOfficials(counts, usual);
  const officials = officialPatterns(counts, compared, settings);
  const strengths = officialStrengths(compared, officials.leftOut, settings);
  const crews = crewPatterns(counts, usual, settings);
  const weeks = weekPatterns(counts, settings);
  const conference = conferenceDuties(counts, usual, settings);
  const whole = officialTrends(counts, usual, settings);
  const listed = [...officials.patterns, ...strengths.strengths, ...crews.patterns];
  const judged = judgeTrends(
    listed.map(({ trend }) => trend),
    settings.falseDiscoveryRate,
  );
  for (const [i, row] of listed.entries()) row.trend = judged.trends[i]!;
  return {
    settings,
    patterns: officials.patterns,
    strengths: strengths.strengths,
    crews: crews.patterns,
    conference: conference.duties,
    weeks: weeks.patterns,
    officialTrends: whole.officials,
    leftOut: Object.fromEntries([...officials.leftOut].map(([place, names]) => [place, [...names].sort()])),
    spread: officialSpread(counts.rows, compared.missVariation.variance),
    families: {
      officials: officials.family,
      strengths: strengths.family,
      crews: crews.family,
      weeks: weeks.family,
    },
    trendFamilies: { listed: judged.family, conference: conference.family, officials: whole.family },
  };
}
