/** Whether a mark of a filed report counts, and if not, why not. */
export const markStandings = ['counted', 'undecided', 'not owed', 'not watched', 'thin log'] as const;
export type MarkStanding = (typeof markStandings)[number];

interface NotCounted {
  /** Fits beside a finding in a table. */
  readonly label: string;
  /** What the official is told. */
  readonly sentence: string;
}

const reasons: Readonly<Record<Exclude<MarkStanding, 'counted'>, NotCounted>> = {
  undecided: {
    label: 'does not count: not known whether it was owed',
    sentence:
      'What is logged of this play leaves open whether the duty came up, so this mark is shown and does not count.',
  },
  'not owed': {
    label: 'does not count: not owed on this play',
    sentence:
      'By what is logged of this play the duty did not come up for this position, so this mark is shown and does not count.',
  },
  'not watched': {
    label: 'does not count: position not watched',
    sentence:
      'The observer was not watching this position here, so nothing is counted and this mark is only shown.',
  },
  'thin log': {
    label: 'does not count: too little logged',
    sentence:
      'Too little of this game is logged to tell how often this duty came up, so this mark is shown and does not count.',
  },
};

/** Why a mark does not count; undefined when it does, or when its report was never filed. */
export function whyNotCounted(standing: MarkStanding | null | undefined): NotCounted | undefined {
  return standing && standing !== 'counted' ? reasons[standing] : undefined;
}
