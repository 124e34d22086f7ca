import type { DutyInput } from '../duty.ts';
import { allSizes, everybody } from './crew-groups.ts';

export const looseBall: DutyInput[] = [
  {
    key: 'bean-bag-at-the-fumble',
    title: 'Bean bag at the spot',
    category: 'loose ball',
    expected: 'drop a bean bag at the spot where the ball came loose',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['loose-ball'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance: 'Drop it at the yard line, not at yourself; the enforcement spot may hang on it.',
  },
];
