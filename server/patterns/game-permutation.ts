import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/**
 * Permutation tests in which a whole game is the unit: plays of one game share its weather, its teams and its evening,
 * so that nothing is known of how they hang together but that games may be exchanged for one another.
 *
 * Where all arrangements are few they are all counted and the p-value is exact; else arrangements are drawn, the same
 * ones each time, until `enough` (20) are as extreme as what was seen or the most were made (Besag and Clifford
 * 1991, Biometrika 78, 301-304: such a p-value is valid, and cheap where nothing is there).
 */
const usuallyBeyond = 20;
/** A trend's family is some tens, and needs p-values to 1e-4; one of crews is a thousand, but few are drawn for. */
const mostDraws = { trend: 9_999, share: 49_999 };
const seed = 20;

function draw(extreme: (random: () => number) => boolean, enough: number, most: number): number {
  const generator = xoroshiro128plus(seed);
  const random = () => uniformFloat64(generator);
  let beyond = 0;
  for (let draws = 1; draws <= most; draws++) {
    if (extreme(random)) beyond++;
    if (beyond === enough) return beyond / draws;
  }
  return (beyond + 1) / (most + 1);
}

/** Sums that are the same but for rounding. */
const roundingOf = (values: readonly number[]) =>
  1e-9 * (1 + values.reduce((sum, v) => sum + Math.abs(v), 0));

/**
 * One-sided p-value of some games' sum being so large, when any as many of all the games could have been those.
 *
 * @param own what each of those games has more than usual
 * @param others the same of all other games
 */
export function permutedShare(
  own: readonly number[],
  others: readonly number[],
  enough = usuallyBeyond,
): number {
  if (own.length === 0 || others.length === 0) return 1;
  const all = [...own, ...others];
  const seen = own.reduce((sum, value) => sum + value, 0) - roundingOf(all);
  return draw(
    (random) => {
      let sum = 0;
      for (let i = 0; i < own.length; i++) {
        const j = i + Math.floor(random() * (all.length - i));
        const chosen = all[j]!;
        all[j] = all[i]!;
        all[i] = chosen;
        sum += chosen;
      }
      return sum >= seen;
    },
    enough,
    mostDraws.share,
  );
}

/** One game of a series: when it was, and what it has more than usual. */
export interface GameInSeries {
  week: number;
  more: number;
}

/** Orders of this many games are all counted: 5,040 at most. */
const mostGamesCounted = 7;

const slopeOf = (weeks: readonly number[], more: readonly number[]) => {
  let sum = 0;
  for (let i = 0; i < weeks.length; i++) sum += weeks[i]! * more[i]!;
  return sum;
};

/**
 * Two-sided p-value of a trend over the weeks: games are exchanged within each stratum only, so that what differs
 * between strata is no trend. Rising where `slope`, the sum of week times `more`, lies above 0.
 *
 * @param strata games by stratum; a stratum of one game tells nothing
 */
export function permutedTrend(
  strata: readonly (readonly GameInSeries[])[],
  enough = usuallyBeyond,
  most = mostDraws.trend,
): {
  slope: number;
  pValue: number;
  exact: boolean;
} {
  const telling = strata
    .filter((games) => games.length > 1)
    .map((games) => {
      const meanWeek = games.reduce((sum, game) => sum + game.week, 0) / games.length;
      return { weeks: games.map(({ week }) => week - meanWeek), more: games.map(({ more }) => more) };
    });
  const slope = telling.reduce((sum, { weeks, more }) => sum + slopeOf(weeks, more), 0);
  const rounding = roundingOf(telling.flatMap(({ weeks, more }) => more.map((one, i) => one * weeks[i]!)));
  const [only] = telling;
  if (only && telling.length === 1 && only.weeks.length <= mostGamesCounted) {
    const { beyond, orders } = countOrders(only.weeks, only.more, Math.abs(slope) - rounding);
    return { slope, pValue: beyond / orders, exact: true };
  }
  if (!only) return { slope: 0, pValue: 1, exact: true };
  const least = Math.abs(slope) - rounding;
  const pValue = draw(
    (random) => {
      let sum = 0;
      for (const { weeks, more } of telling) {
        for (let i = more.length - 1; i > 0; i--) {
          const j = Math.floor(random() * (i + 1));
          const chosen = more[j]!;
          more[j] = more[i]!;
          more[i] = chosen;
        }
        sum += slopeOf(weeks, more);
      }
      return Math.abs(sum) >= least;
    },
    enough,
    most,
  );
  return { slope, pValue, exact: false };
}

/** How many orders of `more` over the weeks have a slope of `least` or more either way, and how many there are. */
function countOrders(weeks: readonly number[], more: readonly number[], least: number) {
  const order = [...more];
  const last = order.length - 1;
  let beyond = 0;
  let orders = 0;
  const place = (at: number, sum: number) => {
    for (let i = at; i <= last; i++) {
      const chosen = order[i]!;
      order[i] = order[at]!;
      order[at] = chosen;
      const next = sum + weeks[at]! * chosen;
      if (at < last) place(at + 1, next);
      else {
        orders++;
        if (Math.abs(next) >= least) beyond++;
      }
      order[at] = order[i]!;
      order[i] = chosen;
    }
  };
  place(0, 0);
  return { beyond, orders };
}
