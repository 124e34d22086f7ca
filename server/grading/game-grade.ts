/**
 * How often something was asked of an official, and how often it was met.
 *
 * `opportunities` are the counted ones: those whose finding was *not seen* or *cannot tell* are left out
 * of `opportunities` and `met` alike.
 */
export interface WeightedCount {
  /** How much one opportunity counts: finite, 0 or more. */
  weight: number;
  /** Category that a cap may hold down. Rows without one are never held down. */
  category?: string;
  /** Counted opportunities: finite, 0 or more. */
  opportunities: number;
  /** How many of them were met (done, model, right call, right no-call): 0 to `opportunities`. */
  met: number;
  /**
   * What the misses cost, in opportunities: finite, 0 or more. Left out, each costs the one that it is. A call that
   * cost possession, say, may cost two and a half; the denominator stays the opportunities all the same.
   */
  cost?: number;
}

/** One duty's count for one official in one game (or pooled over several). */
export interface DutyCount extends WeightedCount {
  /** Key of the duty; rows with the same key are added up. */
  duty: string;
}

export interface GradeOptions {
  /**
   * The largest share (above 0, up to 1) of the whole that any one category may weigh; a heavier category
   * is scaled down to it. With k categories and no duty outside them, a cap below 1/k means 1/k.
   */
  categoryCap?: number;
}

/** What one duty took off the grade. `pointsLost` over all duties adds up to 100 − grade. */
interface DutyContribution {
  duty: string;
  category?: string;
  opportunities: number;
  met: number;
  /** Part of the whole weight that this duty carried, 0 to 1. */
  share: number;
  /** Points (of 100) that its misses took off the grade; where misses cost more than there is, its part of the 100. */
  pointsLost: number;
}

/** A grade from 0 to 100, or the reason why there is none. */
export type PlainGrade = Graded | Ungraded;

/** The same with what each duty took off, heaviest loss first, then by duty. */
export type Grade = (Graded & { contributions: DutyContribution[] }) | Ungraded;

interface Graded {
  /** 0 to 100. */
  grade: number;
  /** Σ weight × opportunities after any cap: how much evidence the grade rests on. */
  weight: number;
  opportunities: number;
  met: number;
}

interface Ungraded {
  grade: null;
  reason: string;
  opportunities: number;
  met: number;
}

/**
 * Grades counts: 100 × Σ w·n·r / Σ w·n over the rows with an opportunity, where w is the weight, n the
 * opportunities and r the part of them met. This is the weighted arithmetic mean of the rates r with
 * weights w·n, so rows of like weight (and category) may be added up beforehand.
 *
 * Where misses cost more or less than the one opportunity each is, the grade is 100 − 100 × Σ w·cost / Σ w·n: a miss
 * of factor f costs f × w, while the denominator stays the weight of all chances. What is lost beyond the whole is
 * not counted: the grade is then 0, never less.
 *
 * No counted opportunity, or none with a weight above 0, gives no grade and the reason, never 0 or 100.
 *
 * @throws RangeError naming the duty (where the row has one) and field when a count or weight is negative or
 *   not finite, when more were met than there were opportunities, or when the cap is outside (0, 1].
 */
export function gradeOf(rows: readonly WeightedCount[], options: GradeOptions = {}): PlainGrade {
  return weigh(rows, options).grade;
}

/**
 * Grades one official's game as `gradeOf` does, and says what each duty took off.
 *
 * @throws RangeError as `gradeOf`.
 *
 * @example
 * gradeGame([
 *   { duty: 'hold the spot', weight: 2, opportunities: 10, met: 9 },
 *   { duty: 'dead-ball signal', weight: 1, opportunities: 20, met: 16 },
 * ]); // grade 85: contributions 10 for the signal and 5 for the spot
 */
export function gradeGame(rows: readonly DutyCount[], options: GradeOptions = {}): Grade {
  const { grade, whole } = weigh(rows, options);
  if (grade.grade === null) return grade;
  const contributions = new Map<string, DutyContribution>();
  for (const row of rows) {
    if (row.opportunities === 0) continue;
    const { duty, category } = row;
    const key = category === undefined ? duty : `${duty}\n${category}`;
    let contribution = contributions.get(key);
    if (!contribution) {
      contribution = { duty, category, opportunities: 0, met: 0, share: 0, pointsLost: 0 };
      contributions.set(key, contribution);
    }
    const ofOne = weightIn(whole, row) / whole.total;
    contribution.opportunities += row.opportunities;
    contribution.met += row.met;
    contribution.share += ofOne * row.opportunities;
    contribution.pointsLost += (100 * ofOne * costOf(row)) / whole.overspent;
  }
  return {
    ...grade,
    contributions: [...contributions.values()].sort(
      (a, b) => b.pointsLost - a.pointsLost || (a.duty < b.duty ? -1 : a.duty > b.duty ? 1 : 0),
    ),
  };
}

/** All that a grade counts, with which one row's part of it can be told. */
interface Whole {
  /** The largest weight of a row with an opportunity: weights are relative, so it is made 1 to keep sums finite. */
  largest: number;
  /** What the cap multiplies the weights of a category by; 1 where it is not in here. */
  scales: ReadonlyMap<string, number>;
  total: number;
  /** How many times the whole was lost, 1 at least. */
  overspent: number;
}

function weigh(
  rows: readonly WeightedCount[],
  { categoryCap: cap = 1 }: GradeOptions,
): { grade: PlainGrade; whole: Whole } {
  if (!(cap > 0 && cap <= 1)) throw new RangeError(`categoryCap must be above 0 and at most 1, not ${cap}`);
  let opportunities = 0;
  let met = 0;
  let largest = 0;
  for (const row of rows) {
    assertCount(row);
    opportunities += row.opportunities;
    met += row.met;
    if (row.opportunities > 0) largest = Math.max(largest, row.weight);
  }
  const whole: Whole = { largest, scales: new Map(), total: 0, overspent: 1 };
  if (largest === 0) {
    const reason =
      opportunities === 0 ? 'no counted opportunity' : 'every duty with an opportunity has weight 0';
    return { grade: { grade: null, reason, opportunities, met }, whole };
  }
  if (cap < 1) whole.scales = categoryScales(rows, whole, cap);
  let lost = 0;
  for (const row of rows) {
    const weight = weightIn(whole, row);
    whole.total += weight * row.opportunities;
    lost += weight * costOf(row);
  }
  whole.overspent = Math.max(1, lost / whole.total);
  const grade = Math.max(0, 100 - (100 * lost) / whole.total);
  const weight = Math.min(whole.total * largest, Number.MAX_VALUE);
  return { grade: { grade, weight, opportunities, met }, whole };
}

const costOf = ({ opportunities, met, cost = opportunities - met }: WeightedCount) => cost;

/** The relative weight of one opportunity. Beside the heaviest, one too small for double precision counts as none. */
function weightIn({ largest, scales }: Whole, { weight, category, opportunities }: WeightedCount): number {
  if (opportunities === 0 || weight < largest * 1e-15) return 0;
  return (weight / largest) * (category === undefined ? 1 : (scales.get(category) ?? 1));
}

/** By how much each category's weight is multiplied so that none is more than `cap` of the whole. */
function categoryScales(rows: readonly WeightedCount[], whole: Whole, cap: number): Map<string, number> {
  const weights = new Map<string, number>();
  let uncapped = 0;
  for (const row of rows) {
    const weight = weightIn(whole, row) * row.opportunities;
    if (row.category === undefined) uncapped += weight;
    else weights.set(row.category, (weights.get(row.category) ?? 0) + weight);
  }
  const heaviestFirst = [...weights].filter(([, weight]) => weight > 0).sort((a, b) => b[1] - a[1]);
  const share = uncapped > 0 ? cap : Math.max(cap, 1 / Math.max(1, heaviestFirst.length));
  // rest[i]: what is not held down when the i heaviest are; summed from the lightest so nothing cancels.
  const rest = [uncapped];
  for (const [, weight] of heaviestFirst.toReversed()) rest.unshift(rest[0]! + weight);

  // Hold down the heaviest, then see whether the next is now too heavy for the smaller whole. A held one
  // weighs share × whole, and the whole is rest / (1 − held × share).
  const most = uncapped > 0 ? heaviestFirst.length : heaviestFirst.length - 1;
  let held = 0;
  while (held < most && heaviestFirst[held]![1] * (1 - held * share) > share * rest[held]!) held += 1;
  const capped = rest[held]! / (1 - held * share);
  const scales = new Map<string, number>();
  for (const [category, weight] of heaviestFirst.slice(0, held)) {
    scales.set(category, (share * capped) / weight);
  }
  return scales;
}

function assertCount(row: WeightedCount & { duty?: string }): void {
  assertNumber(row, 'weight');
  assertNumber(row, 'opportunities');
  assertNumber(row, 'met');
  if (row.met > row.opportunities) {
    throw new RangeError(
      `met of ${named(row)} must be at most its ${row.opportunities} opportunities, not ${row.met}`,
    );
  }
  if (row.cost === undefined) return;
  assertNumber(row, 'cost');
  if (row.cost > 0 && row.met === row.opportunities) {
    throw new RangeError(`cost of ${named(row)} must be 0 where everything was met, not ${row.cost}`);
  }
}

function assertNumber(
  row: WeightedCount & { duty?: string },
  field: 'weight' | 'opportunities' | 'met' | 'cost',
): void {
  const value = row[field]!;
  if (!Number.isFinite(value) || value < 0) {
    throw new RangeError(`${field} of ${named(row)} must be a number of 0 or more, not ${value}`);
  }
}

const named = ({ duty }: { duty?: string }) => (duty === undefined ? 'a count' : `duty "${duty}"`);
