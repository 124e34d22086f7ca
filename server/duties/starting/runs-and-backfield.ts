import { deep, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const runsAndBackfield: StartingDuty[] = [
  {
    key: 'quarterback-to-the-neutral-zone',
    title: 'Stay with the quarterback',
    expected: 'stay with the quarterback at least to the neutral zone',
    positions: ['referee'],
    allOf: ['quarterback-runs'],
    weight: 2,
    guidance:
      'Trail by five to eight yards, on the side of the throwing arm, until the neutral zone; then the wing has the runner. Look at the defenders who close in, not at the feet of the quarterback. A slide or a surrender ends it: see where it began and who comes late.',
  },
  {
    key: 'pick-up-the-running-quarterback',
    title: 'Pick up the quarterback at the line',
    expected: 'pick up the quarterback as a runner once across the neutral zone',
    positions: wings,
    who: 'on the play side',
    allOf: ['quarterback-runs'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'You have held the line, so you are in place: take over at the neutral zone, from the outside. Step back, let the runner pass in front of you, and take the spot. On a slide the spot is where it began, and what comes after it is a foul.',
  },
  {
    key: 'blocks-behind-the-line',
    title: 'Blocks behind the line',
    expected: 'keep eyes on the blocks at and behind the line, not on the ball',
    positions: ['umpire'],
    allOf: ['run'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'The ball goes by itself. Read the first step of the guards, find the point of attack, then the block that makes the hole. See the start of it: who is beaten first is who holds. Keep your feet moving out of the lane; linemen do not look for you.',
  },
  {
    key: 'blocks-on-the-other-side-of-the-line',
    title: "Blocks on the center judge's side",
    expected: 'watch the blocks on their side of the snap while the umpire watches the other',
    positions: ['center judge'],
    crewSizes: [8],
    allOf: ['run-or-pass'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'Split the line with the umpire before the snap, out loud: tackle and guard on your side are yours. From behind you see arms around a body that the umpire cannot see. Do not both watch the same block; then three others are watched by nobody.',
  },
  {
    key: 'give-ground-under-pressure',
    title: 'Read pressure and give ground',
    expected: 'read pressure toward their side and give ground, so that the play stays in front',
    positions: wings,
    who: 'on the play side',
    allOf: ['pressure'],
    weight: 2,
    guidance:
      'A play that breaks down comes outside. When the passer turns your way step back and out, two or three yards beyond the sideline, and keep it between you and the field. Know what is behind you before the snap; a bench or a cable is no place to back into.',
  },
  {
    key: 'give-ground-on-a-run-at-them',
    title: 'Give ground on a run to their side',
    expected: 'give ground backward and outward when a run comes to their side, and let the runner pass',
    positions: wings,
    who: 'on the play side',
    allOf: ['run-to-a-side'],
    unless: ['snap-near-goal-line'],
    weight: 2,
    guidance:
      'Safety first: a runner with blockers in front does not see you. Drop back at the snap, outside foot first, and let runner and blockers pass; then trail five yards behind. Boxed in between play and bench you see nothing and you get hurt.',
  },
  {
    key: 'backside-of-the-run',
    title: 'Watch behind the run',
    expected: 'watch the action behind the play when it goes to the other side',
    positions: wings,
    who: 'away from the play',
    allOf: ['run-to-a-side'],
    weight: 1,
    guidance:
      'The ball is gone but your players are not. Hold the line for two counts for the reverse and the cut-back, then come in behind, eyes on blocks away from the ball. Blind-side hits happen where everybody has stopped looking.',
  },
  {
    key: 'trail-the-play-as-referee',
    title: 'Follow the run and clean up behind it',
    expected: 'follow the run at a distance and watch the action behind it after the handoff',
    positions: ['referee'],
    allOf: ['run'],
    unless: ['quarterback-runs', 'kneel-or-spike'],
    weight: 1,
    guidance:
      'After the handoff one count on the quarterback, then move with the play, eight to ten yards behind. Look at the tackles and at players who have been left. Late hits on those without the ball happen there, and only you are near.',
  },
  {
    key: 'sack-progress',
    title: 'Protect the passer on a sack',
    expected: 'end the play as soon as the passer is down or stopped behind the line, and protect the passer',
    positions: ['referee'],
    allOf: ['sack'],
    weight: 1,
    guidance:
      'Be near, about five yards, with your eyes on the passer’s head and on the ball. Whistle when progress has stopped, before the second hit lands. Then look across: the yard line comes from the wing, who looks along it.',
    cites: 'ball dead',
  },
  {
    key: 'sideline-downfield-on-long-runs',
    title: 'Deep officials stay ahead of the runner',
    expected: 'stay ahead of the runner on a long gain and let the play come to them',
    positions: deep,
    crewSizes: [5, 6, 7, 8],
    who: 'in whose zone the ball is dead',
    allOf: ['long-gain'],
    weight: 2,
    guidance:
      'Keep ten yards and more in front; goal line first, then the sideline. Backpedal only while you have that much, then turn and run, looking over the inside shoulder. Overtaken, you are only a witness, and the plane has nobody.',
  },
];
