import { gradeOf, type WeightedCount } from '../game-grade.ts';
import type { GradedGame } from '../season-rows.ts';

/** Misses of dear duties and of the others are counted apart: an official may be weak in the one only. */
export type DutyClass = 'dear' | 'other';

/** One report's misses of one official in one class of duties. */
export interface CountRow {
  official: string;
  position: string;
  game: string;
  observer: string;
  class: DutyClass;
  /** Σ weight × chances. */
  weight: number;
  /** Σ weight × misses (with what they cost) ÷ `weight`, 0 to 1. */
  lost: number;
  /** The same as expected of anybody in the position, by the weight of each duty. */
  expected: number;
  /** As how many chances of like weight those chances are. */
  trials: number;
}

/** Weighted misses of counts of one weight. */
interface Tally {
  weight: number;
  chances: number;
  misses: number;
  /** Σ weight × cost. */
  lost: number;
  /** Σ weight² × cost: as sums of any parts of the counts give it. */
  squares: number;
}

const missesOf = ({ opportunities, met }: WeightedCount) => opportunities - met;
const costOf = (count: WeightedCount) => count.cost ?? missesOf(count);

function add(tally: Tally, count: WeightedCount): void {
  const misses = missesOf(count);
  const lost = count.weight * costOf(count);
  tally.weight += count.weight * count.opportunities;
  tally.chances += count.opportunities;
  tally.misses += misses;
  tally.lost += lost;
  tally.squares += count.weight * lost;
}

function tallies<Key>(
  reports: readonly GradedGame[],
  keyOf: (report: GradedGame, count: WeightedCount) => Key,
): Map<Key, Tally> {
  const found = new Map<Key, Tally>();
  for (const report of reports) {
    for (const count of report.counts) {
      if (!(count.weight > 0 && count.opportunities > 0)) continue;
      const key = keyOf(report, count);
      let tally = found.get(key);
      if (!tally) {
        tally = { weight: 0, chances: 0, misses: 0, lost: 0, squares: 0 };
        found.set(key, tally);
      }
      add(tally, count);
    }
  }
  return found;
}

/**
 * Reports as rows of the count model. Dear are the weights that carry the upper half of what was lost. A weighted sum
 * of rare misses is taken as a count of its own mean and variance: `trials` are the weight divided by Σ(wx)²/Σwx (the
 * scaled Poisson distribution: Bohm and Zech 2014, "Statistics of weighted Poisson events and its applications",
 * Nuclear Instruments and Methods A 748). What is expected of a weight in a position is its own share of misses over
 * the season, drawn by one miss toward the position's, and that toward everybody's, so that a game with many chances of
 * a hard duty is not held against anybody, and none is taken for impossible.
 *
 * @throws RangeError as `gradeOf`.
 */
export function countRows(reports: readonly GradedGame[]): CountRow[] {
  for (const { counts } of reports) gradeOf(counts);
  const classOf = dutyClasses(reports);
  const byPlace = tallies(reports, ({ position }, { weight }) => `${position}\n${classOf(weight)}`);
  const byWeight = tallies(reports, ({ position }, { weight }) => `${position}\n${weight}`);
  const whole = tallies(reports, (_, { weight }) => classOf(weight));
  const rows: CountRow[] = [];
  for (const { official, position, game, observer, counts } of reports) {
    for (const dutyClass of whole.keys()) {
      const place = byPlace.get(`${position}\n${dutyClass}`);
      const everywhere = whole.get(dutyClass)!;
      if (!place || everywhere.lost === 0) continue;
      const ofAll = everywhere.lost / everywhere.weight;
      const oneMiss = everywhere.squares / everywhere.lost;
      const usual = (place.lost + oneMiss) / (place.weight + oneMiss / ofAll);
      let weight = 0;
      let lost = 0;
      let expected = 0;
      for (const count of counts) {
        if (!(count.weight > 0 && count.opportunities > 0) || classOf(count.weight) !== dutyClass) continue;
        const own = byWeight.get(`${position}\n${count.weight}`)!;
        const share = (own.lost / count.weight + 1) / (own.chances + 1 / usual);
        weight += count.weight * count.opportunities;
        lost += count.weight * costOf(count);
        expected += count.weight * count.opportunities * share;
      }
      if (weight === 0) continue;
      const { squares, lost: all } = place.lost > 0 ? place : everywhere;
      rows.push({
        official,
        position,
        game,
        observer,
        class: dutyClass,
        weight,
        lost: Math.min(1, lost / weight),
        expected: Math.min(0.999, expected / weight),
        trials: (weight * all) / squares,
      });
    }
  }
  return rows;
}

/** Which weights are dear; all are of one class where a half of the weights would have nothing lost. */
function dutyClasses(reports: readonly GradedGame[]): (weight: number) => DutyClass {
  const byWeight = [...tallies(reports, (_, { weight }) => weight)].sort(([a], [b]) => a - b);
  const all = byWeight.reduce((sum, [, { lost }]) => sum + lost, 0);
  const dear = new Set<number>();
  let below = 0;
  for (const [weight, { lost }] of byWeight) {
    if (below + lost / 2 >= all / 2) dear.add(weight);
    below += lost;
  }
  const lostInOther = byWeight.some(([weight, { lost }]) => !dear.has(weight) && lost > 0);
  return (weight) => (dear.has(weight) || !lostInOther ? 'dear' : 'other');
}
