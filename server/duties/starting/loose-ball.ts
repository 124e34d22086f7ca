import type { DutyInput } from '../duty.ts';
import { allSizes, wingsAndDeep } from './crew-groups.ts';

export const looseBall: DutyInput[] = [
  {
    key: 'bean-bag-at-the-fumble',
    title: 'Bean bag at the spot',
    category: 'loose ball',
    expected: 'drop a bean bag at the spot where the ball came loose',
    positions: [
      'umpire',
      'center judge',
      'head linesman',
      'line judge',
      'side judge',
      'field judge',
      'back judge',
    ],
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['fumble'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'At the yard line where possession was lost, not at your feet: the enforcement spot may hang on it.',
  },
  {
    key: 'dig-for-possession',
    title: 'Dig in for possession, safely',
    category: 'loose ball',
    expected: 'dig in and find who has the ball, safely and from the edge of the pile',
    positions: ['umpire', 'head linesman', 'line judge'],
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['loose-ball', 'pile'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'One official digs, one holds the clock, the others peel players off. Hands stay out of the pile: look for the ball, tap backs, talk.',
  },
  {
    key: 'clock-and-signal-on-recovery',
    title: 'Signal the recovery when sure',
    category: 'loose ball',
    expected: 'stop the clock on a loose ball in a pile and give direction only when possession is certain',
    positions: ['referee'],
    crewSizes: allSizes,
    allOf: ['loose-ball', 'pile'],
    weight: 1,
    gradedAs: 'mechanics',
    guidance: 'The crowd can wait. The official who has seen it tells you with eyes on you, then you point.',
  },
  {
    key: 'cover-the-recovery',
    title: 'Cover a ball that is picked up',
    category: 'loose ball',
    expected: 'turn with a ball that is recovered and run, and take the new sideline and goal line',
    positions: wingsAndDeep,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['loose-ball'],
    unless: ['pile'],
    weight: 1,
    gradedAs: 'mechanics',
    guidance:
      'Everything reverses: who was behind is ahead. Move to the new goal line first, then look for blocks.',
  },
  {
    key: 'turn-around-on-an-interception',
    title: 'Turn around on an interception',
    category: 'loose ball',
    expected:
      'turn with an interception, with the wings and the referee taking the goal line in front of the new runner',
    positions: ['referee', 'head linesman', 'line judge'],
    crewSizes: allSizes,
    allOf: ['interception'],
    weight: 1,
    gradedAs: 'mechanics',
    guidance:
      'You are the deep officials now. Give ground toward the goal line and let the return come to you.',
  },
];
