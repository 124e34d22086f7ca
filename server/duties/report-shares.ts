import { type Decided, decidedShare } from './decided-share.ts';

/** Sums of what reports keep of duties: chances that count, set aside, not watched, and probably left open. */
export interface ChancesKept extends Decided {
  readonly unwatched: number;
}

interface ReportShares {
  /** Of the chances that the logs give, the share that was watched; null without any. */
  readonly watched: number | null;
  /** Of the chances that there probably were where it was watched, the share that the logs give. */
  readonly decided: number | null;
}

/** How much of what was owed was watched, and how much of that the log tells: each between 0 and 1. */
export function sharesOf(kept: ChancesKept): ReportShares {
  const given = kept.opportunities + kept.setAside;
  return {
    watched: given + kept.unwatched === 0 ? null : given / (given + kept.unwatched),
    decided: given + kept.likely === 0 ? null : decidedShare(kept),
  };
}

/** `97 %`; never 100 % or 0 % of what is not all or nothing. */
export function shareInWords(share: number | null): string {
  if (share === null) return '–';
  const whole = Math.round(100 * share);
  if (whole === 100 && share < 1) return 'over 99 %';
  if (whole === 0 && share > 0) return 'under 1 %';
  return `${whole} %`;
}
