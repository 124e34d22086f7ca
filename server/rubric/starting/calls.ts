import type { DutyInput } from '../duty.ts';
import { allSizes, everybody, wingsAndDeep } from './crew-groups.ts';

export const calls: DutyInput[] = [
  {
    key: 'call-the-spot',
    title: 'Spot of the ball',
    category: 'calls',
    expected: 'rule the spot of forward progress right',
    positions: wingsAndDeep,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['scrimmage-down'],
    unless: ['pass-incomplete', 'scored'],
    weight: 2,
    gradedAs: 'call',
    guidance: '',
  },
  {
    key: 'call-fouls-reported',
    title: 'Fouls called',
    category: 'calls',
    expected: 'call only fouls that were there',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who reports the foul',
    allOf: ['foul-called'],
    weight: 4,
    gradedAs: 'call',
    guidance: '',
  },
];
