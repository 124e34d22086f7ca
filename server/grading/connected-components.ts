import { groupBy } from './group-by.ts';

/** What a component of a graph of two sorts of nodes holds of each; both in the order in which they were first named. */
interface Component {
  left: string[];
  right: string[];
}

/**
 * The connected components of an undirected graph whose edges join two sorts of nodes, by union-find with path
 * compression. A name may stand on both sides; they are two nodes.
 *
 * @param lefts nodes of the left sort, those without an edge too; nodes of edges need not be repeated here
 * @returns components in the order in which their first node was named
 */
export function connectedComponents(
  lefts: Iterable<string>,
  edges: Iterable<readonly [left: string, right: string]>,
): Component[] {
  const leftMark = 'left ';
  const rightMark = 'right ';
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
  const add = (node: string): string => {
    if (!parent.has(node)) parent.set(node, node);
    return node;
  };
  for (const left of lefts) add(leftMark + left);
  for (const [left, right] of edges) {
    const one = add(leftMark + left);
    const other = add(rightMark + right);
    parent.set(find(one), find(other));
  }
  const named = (nodes: readonly string[], mark: string) =>
    nodes.filter((node) => node.startsWith(mark)).map((node) => node.slice(mark.length));
  return [...groupBy(parent.keys(), find).values()].map((nodes) => ({
    left: named(nodes, leftMark),
    right: named(nodes, rightMark),
  }));
}
