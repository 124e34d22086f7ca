export type Counts = 'best' | 'last' | 'first';

/** Which of several sittings counts, as it is announced. */
export const countsWords: Readonly<Record<Counts, string>> = {
  best: 'the best sitting counts',
  last: 'the last sitting counts',
  first: 'the first sitting counts, later ones are for practice',
};

interface Sitting {
  readonly number: number;
  readonly asked: number;
  readonly right: number;
}

/** The sitting that counts, of those that have ended; of equally good ones the earlier. */
export function countingSitting<One extends Sitting>(sittings: readonly One[], counts: Counts): One | null {
  const inOrder = [...sittings].sort((a, b) => a.number - b.number);
  if (counts === 'first') return inOrder[0] ?? null;
  if (counts === 'last') return inOrder.at(-1) ?? null;
  let best: One | null = null;
  for (const one of inOrder) if (best === null || one.right * best.asked > best.right * one.asked) best = one;
  return best;
}
