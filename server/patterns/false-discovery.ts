/**
 * Benjamini and Hochberg's step-up adjustment (1995, J. R. Statist. Soc. B 57, 289-300). Rejecting every
 * hypothesis whose adjusted p-value is at most q keeps the expected share of false ones among the rejected
 * at or below q; where nothing at all is there, it keeps the chance of any false one at or below q.
 * Agrees with R `p.adjust(method = "BH")`.
 *
 * @param pValues raw p-values, 0 to 1, in any order
 * @param familySize number of tests made; may exceed `pValues.length` when those left out have p = 1
 * @returns adjusted p-values in the order given
 */
export function benjaminiHochberg(pValues: readonly number[], familySize = pValues.length): number[] {
  for (const [i, p] of pValues.entries()) {
    if (!(p >= 0 && p <= 1)) throw new RangeError(`p-value ${i} is ${p}; it must lie between 0 and 1`);
  }
  if (!(familySize >= pValues.length)) {
    throw new RangeError(`family of ${familySize} tests cannot hold ${pValues.length} p-values`);
  }
  const order = pValues.map((_, i) => i).sort((a, b) => pValues[b]! - pValues[a]!);
  const adjusted = new Array<number>(pValues.length);
  let smallest = 1;
  for (const [fromLargest, index] of order.entries()) {
    const rank = pValues.length - fromLargest;
    smallest = Math.min(smallest, (pValues[index]! * familySize) / rank);
    adjusted[index] = smallest;
  }
  return adjusted;
}
