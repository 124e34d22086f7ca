/** The rules that one official in one position of one game is held against, in the order they are shown. */
export const selectionRuleNames = [
  'ranked in the position',
  'games',
  'years of service',
  'fitness test',
  'rules test',
  'standing',
  'availability',
  'postseason games lately',
  'declared tie',
  'recent game',
  'open inquiry',
  'one game a day',
] as const;
export type SelectionRuleName = (typeof selectionRuleNames)[number];

export type Holds = 'met' | 'not met' | 'not known';

/** How one rule stands. What is not known is neither met nor failed, and is said. */
export interface Finding {
  readonly rule: SelectionRuleName;
  readonly holds: Holds;
  /** Without the official's name: "4 games, at least 3 are needed". */
  readonly why: string;
  /** The program proposes nobody with such a finding. People may choose them all the same, with a reason. */
  readonly leavesOut: boolean;
}

/** `met`, `not met` or `not known` over several findings: what fails tells more than what is not known. */
export function overall(findings: readonly Finding[]): Holds {
  if (findings.some(({ holds }) => holds === 'not met')) return 'not met';
  return findings.some(({ holds }) => holds === 'not known') ? 'not known' : 'met';
}

export const leftOut = (findings: readonly Finding[]): boolean => findings.some((one) => one.leavesOut);
