import type { Scored } from './scored.ts';

/**
 * Items whose difficulties can be told from each other: from each of them to each other leads a way of people who had
 * one right and the next wrong (Fischer 1981, "On the existence and uniqueness of maximum-likelihood estimates in the Rasch
 * model", Psychometrika 46). What all had right or wrong, and question sets that nobody links, fall out.
 *
 * @returns numbers of the items of the largest such group, ascending; of equally large ones the first
 */
export function comparableItems(people: readonly Scored[], items: number): number[] {
  const leads = Array.from({ length: items }, () => new Set<number>());
  for (const answers of people) {
    const right = answers.flatMap((one, item) => (one === 1 ? [item] : []));
    const wrong = answers.flatMap((one, item) => (one === 0 ? [item] : []));
    for (const from of right) for (const to of wrong) leads[from]!.add(to);
  }
  const back = Array.from({ length: items }, () => new Set<number>());
  for (const [from, targets] of leads.entries()) for (const to of targets) back[to]!.add(from);
  let largest: number[] = [];
  const placed = new Set<number>();
  for (let item = 0; item < items; item += 1) {
    if (placed.has(item)) continue;
    const there = reached(leads, item);
    const group = [...reached(back, item)].filter((one) => there.has(one)).sort((a, b) => a - b);
    for (const one of group) placed.add(one);
    if (group.length > largest.length) largest = group;
  }
  return largest;
}

function reached(leads: readonly ReadonlySet<number>[], from: number): Set<number> {
  const seen = new Set([from]);
  const open = [from];
  for (let item = open.pop(); item !== undefined; item = open.pop())
    for (const next of leads[item]!)
      if (!seen.has(next)) {
        seen.add(next);
        open.push(next);
      }
  return seen;
}
