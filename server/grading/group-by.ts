/** Items by key, keys and items in the order they came. (`Map.groupBy` needs Node 21.) */
export function groupBy<Item, Key>(items: Iterable<Item>, keyOf: (item: Item) => Key): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return groups;
}

/** The groups of `groupBy` without their keys: rows of like key together, in the order they came. */
export function groupsOf<T>(rows: readonly T[], keyOf: (row: T) => string): T[][] {
  return [...groupBy(rows, keyOf).values()];
}
