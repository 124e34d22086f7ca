/** Observers and crews linked by the games they share; grades compare only inside one group. */
export interface Pair {
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
  const parent = new Map<string, string>();
  const find = (node: string): string => {
    let root = node;
    while (parent.get(root) !== undefined && parent.get(root) !== root) root = parent.get(root) as string;
    let walk = node;
    while (walk !== root) {
      const next = parent.get(walk) as string;
      parent.set(walk, root);
      walk = next;
    }
    return root;
  };
  const crewKey = (id: string) => `crew ${id}`;
  const observerKey = (id: string) => `observer ${id}`;
  for (const id of crewIds) parent.set(crewKey(id), crewKey(id));
  for (const { observerId, crewId } of pairs) {
    if (!parent.has(crewKey(crewId))) parent.set(crewKey(crewId), crewKey(crewId));
    if (!parent.has(observerKey(observerId))) parent.set(observerKey(observerId), observerKey(observerId));
    parent.set(find(observerKey(observerId)), find(crewKey(crewId)));
  }
  const found = new Map<string, { crewIds: Set<string>; observerIds: Set<string> }>();
  for (const node of parent.keys()) {
    const root = find(node);
    const group = found.get(root) ?? { crewIds: new Set<string>(), observerIds: new Set<string>() };
    found.set(root, group);
    if (node.startsWith('crew ')) group.crewIds.add(node.slice(5));
    else group.observerIds.add(node.slice(9));
  }
  const size = (group: Group) => group.crewIds.size * 1000 + group.observerIds.size;
  const name = (group: Group) => [...group.crewIds].sort()[0] ?? '';
  return [...found.values()]
    .filter((group) => group.crewIds.size > 0)
    .sort((a, b) => size(b) - size(a) || (name(a) < name(b) ? -1 : 1));
}

/** Whether sending this observer to this crew ties the group to something outside it. */
export function linksOut(group: Group, observerId: string, crewId: string): boolean {
  return group.crewIds.has(crewId) !== group.observerIds.has(observerId);
}
