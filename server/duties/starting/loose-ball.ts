import { everybody, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const looseBall: StartingDuty[] = [
  {
    key: 'bean-bag-at-the-fumble',
    title: 'Bean bag at the spot',
    expected: 'drop a bean bag at the spot where the ball came loose',
    positions: everybody,
    who: 'where the ball came loose',
    allOf: ['fumble'],
    weight: 2,
    guidance:
      'On the yard line where possession was lost, not at your feet: the enforcement spot may hang on it. Bag, then eyes back to the ball. Referee behind the line, wing at the side, deep official beyond: whose place it is drops the bag, the others look for the recovery.',
    cites: 'penalty enforcement',
  },
  {
    key: 'sack-fumble',
    title: 'Bag and follow a sack fumble',
    expected: 'bag the spot where the passer lost the ball, and stay with the passer before the ball',
    positions: ['referee'],
    allOf: ['sack-fumble'],
    weight: 2,
    guidance:
      'You saw the arm and the hit, so the bag is yours: on the yard line of the loss, no whistle. One more count on the passer, who lies there without a look, then on to the blocks around the ball. Wings and umpire have the recovery.',
    cites: 'fumble',
  },
  {
    key: 'dig-for-possession',
    title: 'Dig in for possession, safely',
    expected: 'dig in and find who has the ball, safely and from the edge of the pile',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['loose-ball', 'pile'],
    weight: 2,
    guidance:
      'One digs, one holds the clock, the others peel players off from the top. Look for the ball from the edge, tap backs, talk; hands stay out of the pile, fingers break there. Nobody points before the digger has seen the ball in somebody’s arms.',
  },
  {
    key: 'clock-and-signal-on-recovery',
    title: 'Signal the recovery when sure',
    expected: 'stop the clock on a loose ball in a pile and give direction only when possession is certain',
    positions: ['referee'],
    allOf: ['loose-ball', 'pile'],
    weight: 1,
    guidance:
      'Stop the clock from five yards off, where you see the whole pile. Wait for the digger to look at you and say the team; then one arm, the right way. The crowd can wait. A point that has to be taken back is never forgotten.',
  },
  {
    key: 'cover-the-recovery',
    title: 'Cover a ball that is picked up',
    expected: 'turn with a ball that is recovered and run, and take the new sideline and goal line',
    positions: everybody,
    who: 'where the ball came loose',
    allOf: ['loose-ball'],
    unless: ['pile'],
    weight: 1,
    guidance:
      'Everything reverses: who was behind is ahead. Bag down, two steps back to get out of the way, then with the ball along the outside. Those furthest the other way go to the new goal line first, then look for blocks.',
  },
  {
    key: 'turn-around-on-an-interception',
    title: 'Turn around on an interception',
    expected:
      'turn with an interception, with the wings and the referee taking the goal line in front of the new runner',
    positions: ['referee', ...wings],
    allOf: ['interception'],
    weight: 1,
    guidance:
      'You are the deep officials now. Give ground toward the goal line along the outside and let the return come to you, ten yards ahead of it. Referee: the passer first, who is blocked now by people who waited for it.',
  },
];
