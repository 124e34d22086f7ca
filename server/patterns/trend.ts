import { benjaminiHochberg } from './false-discovery.ts';
import { type GameInSeries, permutedTrend } from './game-permutation.ts';

type Direction = 'rising' | 'falling' | 'no clear trend';

/** Whether misses rise or fall over the weeks. */
export interface Trend {
  /** Named only where the trend stands in its family. */
  direction: Direction;
  /** Sum over games of week (from the mean week) times misses above usual, over the root of their variance: above 0 for a rise. */
  slope: number;
  /** Two-sided, by permutation of whole games. */
  pValue: number;
  /** Adjusted after Benjamini and Hochberg over the family of trends. */
  adjustedP: number;
  /** All orders counted, so many drawn, or too few games (or no miss) to show any trend: p = 1. */
  method: 'exact' | 'drawn' | 'too few';
}

/** Fewer games cannot show a trend: of three, the two extreme orders come in a third of all cases. */
const fewestGames = 4;

type UnjudgedTrend = Omit<Trend, 'direction' | 'adjustedP'>;

const noTrend: Trend = {
  direction: 'no clear trend',
  slope: 0,
  pValue: 1,
  adjustedP: 1,
  method: 'too few',
};

/** A game's events among its chances, and what would be usual for them: by whoever watched it. */
export interface GameBesideUsual {
  week: number;
  game: string;
  chances: number;
  events: number;
  usual: number;
}

/**
 * Trend of one official (or crew) over the weeks: each game's misses beside what is usual with the observers who
 * watched it, at the level of these games; whole games are exchanged over the weeks. A strict observer late in the
 * season is so no trend.
 */
export function trendBesideUsual(games: readonly GameBesideUsual[]): UnjudgedTrend {
  const more = besideLevel(games);
  return more.length < fewestGames ? noTrend : judgedBy([more]);
}

/**
 * Trend of many games: within those of each stratum (of an observer), each beside the stratum's own level. Nothing is
 * borrowed between strata, so no model of what differs between them has to be right.
 */
export function trendWithinStrata(strata: readonly (readonly GameBesideUsual[])[]): UnjudgedTrend {
  const telling = strata.map(besideLevel).filter((games) => games.length > 1);
  return telling.reduce((sum, games) => sum + games.length, 0) < fewestGames ? noTrend : judgedBy(telling);
}

/**
 * What each game has more than usual at the level of these games, which lies so far from the usual, on the log-odds,
 * that their events add up: severity adds there, and on rates would call a strict observer's games too mild. Over the
 * root of its variance, since games with many chances swing more and are to be exchanged for others. Empty where there
 * is no event or nothing else, which tells nothing.
 */
function besideLevel(games: readonly GameBesideUsual[]): GameInSeries[] {
  const usable = games
    .filter(({ usual, chances }) => usual > 0 && chances > 0)
    .sort((a, b) => a.week - b.week || (a.game < b.game ? -1 : 1));
  const events = usable.reduce((sum, game) => sum + game.events, 0);
  const chances = usable.reduce((sum, game) => sum + game.chances, 0);
  if (events <= 0 || events >= chances) return [];
  const odds = usable.map((game) => {
    const rate = Math.min(mostUsual, game.usual / game.chances);
    return rate / (1 - rate);
  });
  const rateAt = (shift: number, i: number) => 1 / (1 + 1 / (odds[i]! * Math.exp(shift)));
  let low = -widestShift;
  let high = widestShift;
  for (let step = 0; step < halvings; step++) {
    const middle = (low + high) / 2;
    let sum = 0;
    for (const [i, game] of usable.entries()) sum += game.chances * rateAt(middle, i);
    if (sum < events) low = middle;
    else high = middle;
  }
  return usable.map((game, i) => {
    const rate = rateAt((low + high) / 2, i);
    const more = game.events - game.chances * rate;
    return { week: game.week, more: more / Math.sqrt(game.chances * rate * (1 - rate)) };
  });
}

/** Usual rates above this are taken as this. */
const mostUsual = 0.98;
/** Log-odds within which the level is looked for, and halvings that find it to 1e-9. */
const widestShift = 20;
const halvings = 36;

function judgedBy(strata: readonly (readonly GameInSeries[])[]): UnjudgedTrend {
  const { slope, pValue, exact } = permutedTrend(strata);
  return { slope, pValue, method: exact ? 'exact' : 'drawn' };
}

/** How many trends a family held, and how many of them stand. */
export interface TrendFamily {
  comparisons: number;
  found: number;
}

/**
 * The trends of one list as one family: a direction is named only for those that stand at `q`. Those that cannot show
 * any (too few games) were not tried and do not count.
 */
export function judgeTrends(
  trends: readonly UnjudgedTrend[],
  q: number,
): { trends: Trend[]; family: TrendFamily } {
  const tried = trends.filter(({ method }) => method !== 'too few');
  const adjusted = new Map(
    benjaminiHochberg(tried.map(({ pValue }) => pValue)).map((value, i) => [tried[i]!, Math.min(1, value)]),
  );
  const judged = trends.map((trend): Trend => {
    const adjustedP = adjusted.get(trend) ?? 1;
    const stands = adjustedP <= q && trend.slope !== 0;
    return {
      ...trend,
      adjustedP,
      direction: !stands ? 'no clear trend' : trend.slope > 0 ? 'rising' : 'falling',
    };
  });
  const found = judged.filter(({ direction }) => direction !== 'no clear trend').length;
  return { trends: judged, family: { comparisons: tried.length, found } };
}
