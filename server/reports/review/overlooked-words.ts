import type { Share } from '../../grading/agreement/exact-share.ts';
import type { Population } from '../../grading/agreement/two-samples.ts';

/** How many misses neither of two observers noted, or why that cannot be told. */
export function overlookedWords({ found, estimate, low, high }: Population): string {
  if (found === 0) return 'No miss was noted, so nothing tells how many were overlooked.';
  if (high === null) {
    return 'No miss was noted by both, so nothing tells how many both overlooked.';
  }
  const range = `${Math.floor(low - found)} to ${Math.ceil(high - found)}`;
  return `By that about ${Math.round(estimate - found)} more (${range}) were noted by neither. Take it for the least there are: what is hard to see is overlooked by both.`;
}

/** A share as "61 of 83, 73 % (63 to 82 %)"; empty of none. */
export function shareWords(share: Share | null): string {
  if (share === null) return '';
  const { some, of } = share;
  return `${some} of ${of}, ${shareRange(share)}`;
}

/** "73 % (63 to 82 %)" */
export function shareRange({ value, low, high }: Pick<Share, 'value' | 'low' | 'high'>): string {
  const percent = (part: number) => Math.round(100 * part);
  return `${percent(value)} % (${percent(low)} to ${percent(high)} %)`;
}
