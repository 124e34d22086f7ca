import type { DutyInput } from '../duty.ts';
import { allSizes } from './crew-groups.ts';

export const kicks: DutyInput[] = [
  {
    key: 'free-kick-sideline',
    title: 'Stay ahead of the free-kick runner',
    category: 'kicks',
    expected: 'cover about 15 yards down the sideline and stay ahead of the runner',
    positions: ['line judge'],
    crewSizes: allSizes,
    allOf: ['free-kick-returned'],
    weight: 1,
    gradedAs: 'mechanics',
    guidance:
      'Keep a cushion, never run level with the runner, and give ground early: the collision you avoid is your own.',
  },
];
