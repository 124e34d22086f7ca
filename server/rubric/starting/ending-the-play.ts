import type { DutyInput } from '../duty.ts';
import { allSizes, everybody } from './crew-groups.ts';

export const endingThePlay: DutyInput[] = [
  {
    key: 'dead-ball-signal',
    title: 'Dead-ball signal',
    category: 'ending the play',
    expected:
      'give the dead-ball signal (signal 7) at once, so that the play-clock operator can start the play clock',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['scrimmage-down', 'dead-in-bounds'],
    unless: ['pass-incomplete', 'scored'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'The operator sees an arm, not a whistle. One hand up, held long enough to be seen, every play, also when the result is plain.',
  },
  {
    key: 'stop-the-clock',
    title: 'Stop the clock when the rules do',
    category: 'ending the play',
    expected: 'follow the whistle with stop the clock (signal 3) when the rules call for it',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['scrimmage-down', 'clock-stops'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Twice, crisply, over the head. The official who kills the play stops the clock; others repeat it.',
  },
  {
    key: 'shut-the-play-down',
    title: 'Shut the play down loud and visibly',
    category: 'ending the play',
    expected: 'end the play with a whistle and a presence that players hear and see',
    positions: everybody,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['scrimmage-down', 'dead-in-bounds'],
    unless: ['pass-incomplete', 'scored'],
    weight: 1,
    gradedAs: 'mechanics',
    guidance: 'Late hits start where nobody heard that it was over. Close the distance while you whistle.',
  },
];
