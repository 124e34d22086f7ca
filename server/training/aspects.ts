import type { DutyCategory } from '../duties/duty.ts';

/** What of a duty a play shows, in the order in which it is taught: where to be, what to look at, what it is, how to tell. */
export const aspects = ['position', 'keys', 'ruling', 'signal'] as const;
export type Aspect = (typeof aspects)[number];

/** What plays of a category usually show; the coordinator changes it for any play. Common practice, no source. */
const usual: Readonly<Record<DutyCategory, Aspect>> = {
  'before the snap': 'position',
  spotting: 'ruling',
  'ending the play': 'signal',
  'goal line': 'position',
  passes: 'keys',
  'runs and backfield': 'keys',
  kicks: 'keys',
  'sideline and dead ball': 'position',
  'loose ball': 'keys',
  'fouls and administration': 'signal',
  conduct: 'ruling',
  'over the game': 'position',
  calls: 'ruling',
};

export const usualAspect = (category: string): Aspect => usual[category as DutyCategory] ?? 'keys';
