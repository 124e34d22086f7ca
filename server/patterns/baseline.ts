import type { ComparedGroup } from './comparison.ts';
import type { Event } from './counts.ts';

/** Someone found, and how surely: what decides who leaves first where not all may. */
export interface FoundUnit {
  compared: ComparedGroup;
  unit: number;
  event: Event;
  pValue: number;
}

/** Names left out of the baseline, by event, duty and position. */
export type LeftOut = ReadonlyMap<string, ReadonlySet<string>>;

const nobody: LeftOut = new Map();

/** Beyond this many rounds (a season takes two or three) the search counts as going round in a circle. */
const mostRounds = 12;

export const placeAt = (event: Event, duty: string, position: string) => `${event}\n${duty}\n${position}`;
const placeOf = ({ group }: ComparedGroup, event: Event) => placeAt(event, group.duty, group.position);

/**
 * Who of those found leaves the baseline of the others: at each duty and position, most certain first, as long as
 * half of the officials or more stay in it. What half of them do is the usual; without that bound, where officials
 * really differ, everybody would in the end be held against the single best. Whoever is found in one situation
 * leaves the whole duty and its other situations too: the chances are the same ones.
 *
 * @param before who is left out already, and counts towards the half
 */
function leave(groups: readonly ComparedGroup[], found: readonly FoundUnit[], before: LeftOut): LeftOut {
  const sizes = new Map<string, number>();
  for (const compared of groups) {
    for (const event of ['misses', 'model'] as const) {
      const place = placeOf(compared, event);
      sizes.set(place, Math.max(sizes.get(place) ?? 0, compared.size));
    }
  }
  const leftOut = new Map<string, Set<string>>();
  for (const [place, names] of before) leftOut.set(place, new Set(names));
  const name = ({ compared, unit }: FoundUnit) => compared.nameOf(unit);
  const surest = [...found].sort((a, b) => a.pValue - b.pValue || (name(a) < name(b) ? -1 : 1));
  for (const one of surest) {
    const place = placeOf(one.compared, one.event);
    const names = leftOut.get(place) ?? new Set<string>();
    if (names.size >= Math.floor(sizes.get(place)! / 2)) continue;
    leftOut.set(place, names.add(name(one)));
  }
  return leftOut;
}

const written = (leftOut: LeftOut) =>
  [...leftOut]
    .flatMap(([place, names]) => [...names].map((name) => `${place}\n${name}`))
    .sort()
    .join('\n\n');

/** The groups with those left out; a group that nobody leaves, or the same ones left before, is the same object. */
export class Baselines {
  private readonly made = new Map<ComparedGroup, Map<string, ComparedGroup>>();
  private readonly groups: readonly ComparedGroup[];
  private readonly event: Event;

  constructor(groups: readonly ComparedGroup[], event: Event) {
    this.groups = groups;
    this.event = event;
  }

  without(leftOut: LeftOut): ComparedGroup[] {
    return this.groups.map((compared) => {
      const names = leftOut.get(placeOf(compared, this.event));
      if (!names || names.size === 0) return compared;
      const key = [...names].sort().join('\n');
      let made = this.made.get(compared);
      if (!made) {
        made = new Map();
        this.made.set(compared, made);
      }
      let group = made.get(key);
      if (!group) {
        group = compared.without(names);
        made.set(key, group);
      }
      return group;
    });
  }
}

/**
 * Tests again and again, each time without those found the time before, until the same ones are found: someone who
 * misses much else makes all others look good, and hides the next.
 *
 * Where nobody is found the first time that is all, so a season without differences shows something as rarely as the
 * first test does. Where the rounds go in a circle (or do not end), all who left the baseline in one of its rounds
 * leave it for good, and the test is made once more; only who is found then is listed.
 *
 * @param judge tests all groups against the baselines given and tells whom it found
 * @param before left out from the start
 */
export function settle<T extends { found: readonly FoundUnit[] }>(
  groups: readonly ComparedGroup[],
  judge: (leftOut: LeftOut) => T,
  before: LeftOut = nobody,
): { result: T; leftOut: LeftOut } {
  const rounds: LeftOut[] = [before];
  for (;;) {
    const leftOut = rounds.at(-1)!;
    const result = judge(leftOut);
    const next = leave(groups, result.found, before);
    if (written(next) === written(leftOut)) return { result, leftOut };
    const again = rounds.findIndex((round) => written(round) === written(next));
    if (again >= 0 || rounds.length === mostRounds) {
      const all = together(rounds.slice(Math.max(0, again)));
      return { result: judge(all), leftOut: all };
    }
    rounds.push(next);
  }
}

function together(rounds: readonly LeftOut[]): LeftOut {
  const all = new Map<string, Set<string>>();
  for (const round of rounds) {
    for (const [place, names] of round) {
      all.set(place, new Set([...(all.get(place) ?? []), ...names]));
    }
  }
  return all;
}

/** What was worked out for the key before, or is now: rounds that change one duty test no other again. */
export function remembered<K, V>(memory: Map<K, V>, key: K, make: (key: K) => V): V {
  let value = memory.get(key);
  if (value === undefined) {
    value = make(key);
    memory.set(key, value);
  }
  return value;
}
