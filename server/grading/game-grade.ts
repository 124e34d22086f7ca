/**
 * One duty's count for one official in one game (or pooled over several).
 *
 * `opportunities` are the counted ones: those whose finding was *not seen* or *cannot tell* are left out
 * of `opportunities` and `met` alike.
 */
export interface DutyCount {
  /** Key of the duty; rows with the same key are added up. */
  duty: string;
  /** How much one opportunity of this duty counts: finite, 0 or more. */
  weight: number;
  /** Category that a cap may hold down. Rows without one are never held down. */
  category?: string;
  /** Counted opportunities: finite, 0 or more. */
  opportunities: number;
  /** How many of them were met (done, model, right call, right no-call): 0 to `opportunities`. */
  met: number;
}

export interface GradeOptions {
  /**
   * The largest share (above 0, up to 1) of the whole that any one category may weigh; a heavier category
   * is scaled down to it. With k categories and no duty outside them, a cap below 1/k means 1/k.
   */
  categoryCap?: number;
}

/** What one duty took off the grade. `pointsLost` over all duties adds up to 100 − grade. */
export interface DutyContribution {
  duty: string;
  category?: string;
  opportunities: number;
  met: number;
  /** Part of the whole weight that this duty carried, 0 to 1. */
  share: number;
  /** Points (of 100) that its misses took off the grade. */
  pointsLost: number;
}

export type Grade =
  | {
      /** 0 to 100. */
      grade: number;
      /** Σ weight × opportunities after any cap: how much evidence the grade rests on. */
      weight: number;
      opportunities: number;
      met: number;
      /** Heaviest loss first, then by duty. */
      contributions: DutyContribution[];
    }
  | { grade: null; reason: string; opportunities: number; met: number };

/**
 * Grades one official's game: 100 × Σ w·n·r / Σ w·n over the duties with an opportunity, where w is the
 * duty's weight, n its opportunities and r the part of them met. This is the weighted arithmetic mean of
 * the duty rates with weights w·n.
 *
 * No counted opportunity, or none with a weight above 0, gives no grade and the reason, never 0 or 100.
 *
 * @throws RangeError naming the duty and field when a count or weight is negative or not finite, when
 *   more were met than there were opportunities, or when the cap is outside (0, 1].
 *
 * @example
 * gradeGame([
 *   { duty: 'hold the spot', weight: 2, opportunities: 10, met: 9 },
 *   { duty: 'dead-ball signal', weight: 1, opportunities: 20, met: 16 },
 * ]); // grade 85: contributions 10 for the signal and 5 for the spot
 */
export function gradeGame(rows: readonly DutyCount[], options: GradeOptions = {}): Grade {
  const cap = options.categoryCap ?? 1;
  if (!(cap > 0 && cap <= 1)) throw new RangeError(`categoryCap must be above 0 and at most 1, not ${cap}`);
  for (const row of rows) assertCount(row);

  const opportunities = rows.reduce((sum, row) => sum + row.opportunities, 0);
  const met = rows.reduce((sum, row) => sum + row.met, 0);
  if (opportunities === 0) return { grade: null, reason: 'no counted opportunity', opportunities, met };

  // Weights are relative, so the largest is made 1 first: sums of huge or tiny weights stay finite.
  const largest = rows.reduce((max, row) => (row.opportunities > 0 ? Math.max(max, row.weight) : max), 0);
  if (largest === 0) {
    return { grade: null, reason: 'every duty with an opportunity has weight 0', opportunities, met };
  }

  const duties = new Map<string, { contribution: DutyContribution; weight: number; lost: number }>();
  for (const row of rows) {
    if (row.opportunities === 0) continue;
    const key = row.category === undefined ? row.duty : `${row.duty}\n${row.category}`;
    let duty = duties.get(key);
    if (!duty) {
      const { duty: name, category } = row;
      const contribution = { duty: name, category, opportunities: 0, met: 0, share: 0, pointsLost: 0 };
      duty = { contribution, weight: 0, lost: 0 };
      duties.set(key, duty);
    }
    // Beside the heaviest, a weight this small is beyond double precision and counts as none.
    const weight = row.weight < largest * 1e-15 ? 0 : row.weight / largest;
    duty.weight += weight * row.opportunities;
    duty.lost += weight * (row.opportunities - row.met);
    duty.contribution.opportunities += row.opportunities;
    duty.contribution.met += row.met;
  }

  const scale = categoryScale([...duties.values()], cap);
  let total = 0;
  for (const duty of duties.values()) total += duty.weight * scale(duty.contribution.category);
  let lost = 0;
  for (const duty of duties.values()) {
    const factor = scale(duty.contribution.category);
    duty.contribution.share = (duty.weight * factor) / total;
    duty.contribution.pointsLost = (100 * duty.lost * factor) / total;
    lost += duty.contribution.pointsLost;
  }
  return {
    grade: Math.min(100, Math.max(0, 100 - lost)),
    weight: Math.min(total * largest, Number.MAX_VALUE),
    opportunities,
    met,
    contributions: [...duties.values()]
      .map((duty) => duty.contribution)
      .sort((a, b) => b.pointsLost - a.pointsLost || (a.duty < b.duty ? -1 : a.duty > b.duty ? 1 : 0)),
  };
}

/** By how much each category's weight is multiplied so that none is more than `cap` of the whole. */
function categoryScale(
  duties: readonly { contribution: DutyContribution; weight: number }[],
  cap: number,
): (category: string | undefined) => number {
  const weights = new Map<string, number>();
  let uncapped = 0;
  for (const { contribution, weight } of duties) {
    if (contribution.category === undefined) uncapped += weight;
    else weights.set(contribution.category, (weights.get(contribution.category) ?? 0) + weight);
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
  const whole = rest[held]! / (1 - held * share);
  const scales = new Map<string, number>();
  for (const [category, weight] of heaviestFirst.slice(0, held)) {
    scales.set(category, (share * whole) / weight);
  }
  return (category) => (category === undefined ? 1 : (scales.get(category) ?? 1));
}

function assertCount(row: DutyCount): void {
  assertNumber(row, 'weight');
  assertNumber(row, 'opportunities');
  assertNumber(row, 'met');
  if (row.met > row.opportunities) {
    throw new RangeError(
      `met of duty "${row.duty}" must be at most its ${row.opportunities} opportunities, not ${row.met}`,
    );
  }
}

function assertNumber(row: DutyCount, field: 'weight' | 'opportunities' | 'met'): void {
  const value = row[field];
  if (!Number.isFinite(value) || value < 0) {
    throw new RangeError(`${field} of duty "${row.duty}" must be a number of 0 or more, not ${value}`);
  }
}
