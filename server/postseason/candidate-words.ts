import { rangeText } from '../results/pages/rank-words.ts';
import type { Finding, Holds } from '../selection/finding.ts';
import type { SelectionState } from './selection.ts';

/** The colour of a state's mark. */
export const stateTone: Readonly<Record<SelectionState, string>> = {
  preparing: '',
  'sealed voting': 'warn',
  opened: 'warn',
  offered: 'warn',
  closed: 'good',
};

export const holdsTone: Readonly<Record<Holds, string>> = {
  met: 'good',
  'not met': 'bad',
  'not known': 'warn',
};

/** Whether somebody may be chosen by the rules, as it stands beside their name. */
export const eligibleWords: Readonly<Record<Holds, string>> = {
  met: 'eligible',
  'not met': 'not eligible',
  'not known': 'not known',
};

/** What speaks against somebody, or is not known: one line each. */
export const objections = (findings: readonly Finding[]) =>
  findings
    .filter(({ holds }) => holds !== 'met')
    .map(({ rule, holds, why }) => ({ rule, why, tone: holdsTone[holds] }));

/** `2 to 5`, as ranks are written. */
export const rankRange = (rank: { low: number; high: number } | null): string =>
  rank ? rangeText(rank.low, rank.high) : '–';
