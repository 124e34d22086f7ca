import { connectedComponents } from '../grading/connected-components.ts';

/** Observers and crews linked by the games they share; grades compare only inside one group. */
interface Pair {
  readonly observerId: string;
  readonly crewId: string;
}

/** One connected group of the graph of observers and crews. */
export interface Group {
  readonly crewIds: ReadonlySet<string>;
  readonly observerIds: ReadonlySet<string>;
}

/**
 * The groups that hold at least one crew, largest first (ties by name, so the answer is the same each time).
 * A crew nobody has seen is a group of its own. Observers who have seen no crew are left out: nothing hangs
 * on them yet.
 */
export function groupsOf(crewIds: readonly string[], pairs: readonly Pair[]): Group[] {
  const links = pairs.map(({ observerId, crewId }) => [crewId, observerId] as const);
  const found = connectedComponents(crewIds, links).map(
    ({ left, right }): Group => ({ crewIds: new Set(left), observerIds: new Set(right) }),
  );
  const size = (group: Group) => group.crewIds.size * 1000 + group.observerIds.size;
  const name = (group: Group) => [...group.crewIds].sort()[0] ?? '';
  return found
    .filter((group) => group.crewIds.size > 0)
    .sort((a, b) => size(b) - size(a) || (name(a) < name(b) ? -1 : 1));
}

/** Whether sending this observer to this crew ties the group to something outside it. */
export function linksOut(group: Group, observerId: string, crewId: string): boolean {
  return group.crewIds.has(crewId) !== group.observerIds.has(observerId);
}
