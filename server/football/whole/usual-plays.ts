import type { Code } from '../codes.ts';

/**
 * How many plays and kicks a whole game has, and below how many a log is told to be short. Common practice, no source:
 * quarters of twelve minutes have fewer than quarters of fifteen.
 */
export const usualPlays: Readonly<Record<Code, { from: number; to: number; few: number }>> = {
  college: { from: 140, to: 190, few: 110 },
  'high school': { from: 100, to: 150, few: 80 },
};
