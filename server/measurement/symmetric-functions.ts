/**
 * Elementary symmetric functions of items' easiness, by summation: only positive numbers are added, so that nothing
 * cancels. Of `easiness` e they are the coefficients of the product of (1 + e x): entry r sums over all ways to have r right.
 *
 * @param easiness exp(−difficulty) of each item, positive
 * @param most the highest order wanted
 */
export function symmetricFunctions(
  easiness: readonly number[],
  most: number = easiness.length,
): Float64Array {
  const sums = new Float64Array(most + 1);
  sums[0] = 1;
  for (const [at, one] of easiness.entries())
    for (let order = Math.min(at + 1, most); order >= 1; order -= 1) sums[order]! += one * sums[order - 1]!;
  return sums;
}

interface RightGiven {
  /** Natural logarithm of the symmetric function of this order. */
  readonly log: number;
  /** Chance of each item to be right, given how many are. */
  readonly one: Float64Array;
  /** Chance of two items to be right both, row by row; on the diagonal as `one`. */
  readonly both: Float64Array[];
}

/**
 * What is right, given how many are: the moments that conditional likelihood needs.
 *
 * @param easiness exp(−difficulty) of each item
 * @param scores how many are right; each from 1 to one less than there are items
 * @returns one entry per score
 */
export function rightGiven(easiness: readonly number[], scores: readonly number[]): RightGiven[] {
  const items = easiness.length;
  const most = Math.max(...scores);
  const whole = symmetricFunctions(easiness, most);
  const found = scores.map((score) => ({
    log: Math.log(whole[score]!),
    one: new Float64Array(items),
    both: Array.from({ length: items }, () => new Float64Array(items)),
  }));
  for (let item = 0; item < items; item += 1) {
    const others = easiness.filter((_, at) => at !== item);
    const without = symmetricFunctions(others, most);
    for (const [at, score] of scores.entries()) {
      const chance = (easiness[item]! * without[score - 1]!) / whole[score]!;
      found[at]!.one[item] = chance;
      found[at]!.both[item]![item] = chance;
    }
    pairs(easiness, item, scores, whole, found);
  }
  return found;
}

/** Fills in the pairs of `item` with those behind it: all others before and behind the second are folded together. */
function pairs(
  easiness: readonly number[],
  item: number,
  scores: readonly number[],
  whole: Float64Array,
  found: readonly RightGiven[],
): void {
  const items = easiness.length;
  const most = whole.length - 1;
  const kept = easiness.map((one, at) => (at === item ? 0 : one));
  const behind: Float64Array[] = new Array(items + 1);
  behind[items] = symmetricFunctions([], most);
  for (let at = items - 1; at > item; at -= 1) behind[at] = withOne(behind[at + 1]!, kept[at]!);
  let before = symmetricFunctions(easiness.slice(0, item), most);
  for (let second = item + 1; second < items; second += 1) {
    const rest = behind[second + 1]!;
    for (const [at, score] of scores.entries()) {
      if (score < 2) continue;
      let sum = 0;
      for (let order = 0; order <= score - 2; order += 1) sum += before[order]! * rest[score - 2 - order]!;
      const chance = (easiness[item]! * easiness[second]! * sum) / whole[score]!;
      found[at]!.both[item]![second] = chance;
      found[at]!.both[second]![item] = chance;
    }
    before = withOne(before, kept[second]!);
  }
}

function withOne(sums: Float64Array, easiness: number): Float64Array {
  const next = sums.slice();
  for (let order = sums.length - 1; order >= 1; order -= 1) next[order]! += easiness * sums[order - 1]!;
  return next;
}
