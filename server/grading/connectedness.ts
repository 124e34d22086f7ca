/** An observer's report on a game, naming those it graded. */
export interface Meeting {
  official: string;
  observer: string;
}

/** Officials and observers that can be compared with each other, and with nobody outside. */
export interface ComparableGroup {
  officials: string[];
  observers: string[];
}

/**
 * Splits officials and observers into groups that no report links: connected components of the graph in
 * which an official and an observer are joined when the one was graded by the other. Within a group,
 * severity and skill can be told apart; across groups nothing says whether one group's observers were
 * strict or its officials weak (Searle 1971, *Linear Models*, on connected two-way data).
 *
 * @returns largest group first (most officials, then by name); names inside a group in order.
 */
export function comparableGroups(meetings: readonly Meeting[]): ComparableGroup[] {
  const parent = new Map<string, string>();
  const find = (node: string): string => {
    let root = node;
    for (let up = parent.get(root); up !== undefined && up !== root; up = parent.get(root)) root = up;
    for (let at = node; at !== root; ) {
      const up = parent.get(at)!;
      parent.set(at, root);
      at = up;
    }
    return root;
  };
  for (const { official, observer } of meetings) {
    const nodes = [`official ${official}`, `observer ${observer}`] as const;
    for (const node of nodes) if (!parent.has(node)) parent.set(node, node);
    parent.set(find(nodes[0]), find(nodes[1]));
  }
  const groups = new Map<string, { officials: Set<string>; observers: Set<string> }>();
  for (const { official, observer } of meetings) {
    const root = find(`observer ${observer}`);
    const group = groups.get(root) ?? { officials: new Set(), observers: new Set() };
    groups.set(root, group);
    group.officials.add(official);
    group.observers.add(observer);
  }
  return [...groups.values()]
    .map(({ officials, observers }) => ({
      officials: [...officials].sort(),
      observers: [...observers].sort(),
    }))
    .sort((a, b) => b.officials.length - a.officials.length || (a.officials[0]! < b.officials[0]! ? -1 : 1));
}
