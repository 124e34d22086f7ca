import type { Code } from '../football/codes.ts';
import type { Duty } from './duty.ts';
import { startingRubricFor } from './starting-rubric.ts';

/**
 * A rubric carried over to the other rules book: duties as the conference began with them take the other book's
 * wording, yardages and citation, with the weight that the coordinator gave them; those the other book does not know
 * go, and its own come. A duty whose words were changed is the conference's and stays as it is.
 */
export function carriedOver(duties: readonly Duty[], from: Code, to: Code): Duty[] {
  if (from === to) return [...duties];
  const before = new Map(startingRubricFor(from).map((duty) => [duty.key, duty]));
  const after = new Map(startingRubricFor(to).map((duty) => [duty.key, duty]));
  const here = new Set(duties.map((duty) => duty.key));
  const carried = duties.flatMap((duty) => {
    const began = before.get(duty.key);
    if (began === undefined || !isAsItBegan(duty, began)) return [duty];
    const other = after.get(duty.key);
    return other === undefined ? [] : [{ ...other, weight: duty.weight }];
  });
  // What both books have and is not here was removed on purpose.
  const new_ = [...after.values()].filter((duty) => !before.has(duty.key) && !here.has(duty.key));
  return [...carried, ...new_];
}

function isAsItBegan(duty: Duty, began: Duty): boolean {
  return JSON.stringify({ ...duty, weight: 0 }) === JSON.stringify({ ...began, weight: 0 });
}
