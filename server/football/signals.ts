/**
 * The officials' signals that duties speak of, by their usual numbers. Common practice, no source: the current
 * rules book prevails.
 */
export const signals = {
  'ready for play': 1,
  'start the clock': 2,
  'stop the clock': 3,
  'touchdown or field goal': 5,
  safety: 6,
  'dead ball': 7,
  'first down': 8,
  'no score, declined or offsetting': 10,
  'end of period': 14,
} as const;

export type Signal = keyof typeof signals;
