import { whyNotCounted } from '../duties/mark-standing.ts';
import type { MarkedChance } from './marked-chances.ts';

/**
 * What was written about a chance, as one remark: of several observers each their own, once where they wrote the same,
 * without saying whose. Empty when one observer wrote nothing.
 */
export function remarkInWords({ observers, remarks }: Pick<MarkedChance, 'observers' | 'remarks'>): string {
  if (observers === 1) return remarks.join(' ');
  const who = { 2: 'Two observers', 3: 'Three observers' }[observers] ?? `${observers} observers`;
  if (remarks.length === 0) return who;
  return `${who}: ${[...new Set(remarks)].map((remark) => `“${remark}”`).join(' ')}`;
}

/** Why none of the marks on a chance counts, in a sentence; null when one does. */
export function whyChanceNotCounted({
  outcome,
  standing,
}: Pick<MarkedChance, 'outcome' | 'standing'>): string | null {
  if (outcome === 'judged differently') {
    return 'Two observers marked this and judged it differently, so it counts neither way.';
  }
  return whyNotCounted(standing)?.sentence ?? null;
}
