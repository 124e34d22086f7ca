import type { ComparedGroup, Comparison } from './comparison.ts';
import type { CountRow } from './counts.ts';
import type { Rate } from './exact-tests.ts';
import type { Judged } from './family.ts';
import { gamesBesideUsual } from './games-of-group.ts';
import { type PatternSettings, weightOf } from './settings.ts';
import { type Trend, trendBesideUsual } from './trend.ts';
import { type Interval, wilsonInterval } from './wilson-interval.ts';

/** One game in a week-by-week strip. `expected` is what peers would have missed; null where none compare. */
interface WeekCount {
  week: number;
  game: string;
  opportunities: number;
  misses: number;
  model: number;
  expected: number | null;
}

/** What every pattern and strength shows, whoever it is about. */
export interface Evidence {
  duty: string;
  /** Null: the whole duty. */
  situationCut: string | null;
  opportunities: number;
  misses: number;
  model: number;
  missRate: number;
  interval: Interval;
  games: number;
  gamesWithMisses: number;
  /** Peers' own counts, unadjusted; those found at the duty themselves are not among them. */
  peers: Rate;
  /** How many others there are, and how many of them were found themselves: the rest are the peers. */
  peerCount: number;
  peersLeftOut: number;
  /** Chances and misses that the test rests on: seen by observers who saw peers too. */
  comparable: Rate;
  /** Misses peers would have had in the comparable chances, marked by the same observers. */
  expected: number;
  /** `comparable` misses less `expected`. */
  excess: number;
  weight: number;
  /** Weight times excess misses: what the list is sorted by. */
  consequence: number;
  /** One-sided and exact, widened where games vary more than chance. */
  pValue: number;
  /** Benjamini-Hochberg adjusted within its family. */
  adjustedP: number;
  /** How much more games vary than chance would make them; 1: not more. */
  overdispersion: number;
  /** One entry a game, in order of weeks. */
  weeks: WeekCount[];
  /** Of the misses game by game, beside what is usual with the observers who watched. */
  trend: Trend;
}

/** Peers fewer than this are not shown to an official: their pooled rate would be one known colleague's. */
export const fewestPeersShown = 3;

export const enoughPeersToShow = ({ peerCount, peersLeftOut }: Evidence) =>
  peerCount - peersLeftOut >= fewestPeersShown;

function gameByGame(rows: readonly { row: CountRow; expected: number | null }[]): WeekCount[] {
  const games = new Map<string, WeekCount>();
  for (const { row, expected } of rows) {
    let entry = games.get(row.game);
    if (!entry) {
      entry = { week: row.week, game: row.game, opportunities: 0, misses: 0, model: 0, expected: null };
      games.set(row.game, entry);
    }
    entry.opportunities += row.opportunities;
    entry.misses += row.misses;
    entry.model += row.model;
    if (expected !== null) entry.expected = (entry.expected ?? 0) + expected;
  }
  return [...games.values()].sort((a, b) => a.week - b.week || (a.game < b.game ? -1 : 1));
}

/** What evidence needs beside the comparison: the settings, and usual misses by row number. */
interface Grounds {
  settings: PatternSettings;
  usual: Float64Array;
}

const unjudged = { direction: 'no clear trend', adjustedP: 1 } as const;

/** Builds what is shown of a unit that was found. `misses` compares its misses, whichever event was tested. */
export function evidenceOf(
  compared: ComparedGroup,
  unit: number,
  misses: Comparison,
  judged: Pick<Judged<unknown>, 'pValue' | 'adjustedP'>,
  overdispersion: number,
  { settings, usual }: Grounds,
): Evidence {
  const { own, others, othersCount, othersLeftOut, comparable, expected } = misses;
  const { duty, situationCut } = compared.group;
  const rows = compared.rowsWithExpected(unit, 'misses');
  const weeks = gameByGame(rows);
  const weight = weightOf(settings, duty);
  const excess = comparable.events - expected;
  return {
    duty,
    situationCut,
    opportunities: own.opportunities,
    misses: own.events,
    model: weeks.reduce((sum, week) => sum + week.model, 0),
    missRate: own.events / own.opportunities,
    interval: wilsonInterval(own.events, own.opportunities, settings.confidence),
    games: weeks.length,
    gamesWithMisses: weeks.filter((week) => week.misses > 0).length,
    peers: others,
    peerCount: othersCount,
    peersLeftOut: othersLeftOut,
    comparable,
    expected,
    excess,
    weight,
    consequence: weight * excess,
    pValue: judged.pValue,
    adjustedP: judged.adjustedP,
    overdispersion,
    weeks,
    // Judged once all lists are there (see `findPatterns`): until then no direction stands.
    trend: { ...trendBesideUsual(gamesBesideUsual(compared, unit, usual)), ...unjudged },
  };
}
