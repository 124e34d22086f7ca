import type { DutyInput } from '../duty.ts';
import { allSizes, wings, wingsAndDeep } from './crew-groups.ts';

export const spotting: DutyInput[] = [
  {
    key: 'square-up-at-the-spot',
    title: 'Square up and come in',
    category: 'spotting',
    expected:
      'stay on or outside the sideline until the play is over, square to the field at the progress spot, then come in at pace toward the ball',
    positions: wings,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['scrimmage-down', 'dead-in-bounds'],
    unless: ['pass-incomplete', 'long-gain', 'scored'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Let the play come to an end in front of you. Turn your shoulders square to the field at the spot, then come in with purpose on a straight line, eyes on the players, and stop short of them.',
  },
  {
    key: 'hold-progress-with-the-feet',
    title: 'Hold the progress spot with the feet',
    category: 'spotting',
    expected:
      'hold the spot of forward progress with a foot until the ball is placed, rather than from memory',
    positions: wingsAndDeep,
    crewSizes: allSizes,
    who: 'who ends the play',
    allOf: ['scrimmage-down'],
    unless: ['pass-incomplete', 'scored'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Plant the downfield foot on the yard line of progress and leave it there. Do not drift while you clean up; have a partner bring the ball to you.',
  },
  {
    key: 'progress-of-a-driven-back-runner',
    title: 'Give the most forward point',
    category: 'spotting',
    expected: 'mark the most forward point when the runner is driven back, with a whistle that ends the push',
    positions: wings,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['run-or-pass', 'runner-driven-back'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Freeze the spot when progress stops. A firm whistle here protects a runner who cannot protect himself.',
  },
  {
    key: 'get-to-the-spot-at-the-line-to-gain',
    title: 'Get to the spot at the line to gain',
    category: 'spotting',
    expected:
      'get to the spot and stop the clock only when certain that the line to gain is reached, else show dead ball (signal 7)',
    positions: wings,
    crewSizes: allSizes,
    who: 'where the ball is dead',
    allOf: ['line-to-gain-in-question'],
    unless: ['pass-incomplete'],
    weight: 3,
    gradedAs: 'mechanics',
    guidance: 'Be there before you decide. A clock stopped on hope cannot be wound back fairly.',
  },
  {
    key: 'decide-reached-or-measure',
    title: 'One official decides reached or measure',
    category: 'spotting',
    expected:
      'decide alone whether the line to gain is reached, short, or to be measured, and tell the referee at once',
    positions: ['line judge'],
    crewSizes: allSizes,
    allOf: ['line-to-gain-in-question'],
    unless: ['pass-incomplete'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'One voice decides, the others hold their spots. Two different answers in front of a bench cost trust.',
  },
];
