import { groupBy } from './group-by.ts';

/**
 * The connected components of an undirected graph, by union-find with path compression.
 *
 * @param nodes every node, those without an edge too; nodes of edges need not be repeated here
 * @returns each component's nodes, components and nodes in the order in which they were first named
 */
export function connectedComponents(
  nodes: Iterable<string>,
  edges: Iterable<readonly [string, string]>,
): string[][] {
  const parent = new Map<string, string>();
  const find = (node: string): string => {
    let root = node;
    for (let up = parent.get(root)!; up !== root; up = parent.get(root)!) root = up;
    for (let at = node; at !== root; ) {
      const up = parent.get(at)!;
      parent.set(at, root);
      at = up;
    }
    return root;
  };
  const add = (node: string) => {
    if (!parent.has(node)) parent.set(node, node);
  };
  for (const node of nodes) add(node);
  for (const [one, other] of edges) {
    add(one);
    add(other);
    parent.set(find(one), find(other));
  }
  return [...groupBy(parent.keys(), find).values()];
}
