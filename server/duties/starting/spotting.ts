import { deepWings, everybody, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const spotting: StartingDuty[] = [
  {
    key: 'stay-outside-the-sideline',
    title: 'Stay on or outside the sideline',
    expected: 'stay on or outside the sideline until the play at their side is over',
    positions: wings,
    who: 'on the play side',
    allOf: ['run-to-a-side'],
    unless: ['snap-near-goal-line'],
    weight: 2,
    guidance:
      'From a step outside the line you see the whole play and nobody runs into you. Give ground backward with your shoulders to the field; never step in to meet the runner. Come in only when the play has ended in front of you.',
  },
  {
    key: 'square-up-at-the-spot',
    title: 'Square up and come in',
    expected: 'square to the field at the progress spot, then come in at pace toward the ball',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['ball-carried-to-an-end', 'dead-in-bounds', 'leaves-a-spot'],
    unless: ['long-gain'],
    weight: 2,
    guidance:
      'Run along the sideline to the yard line of progress, plant, and turn your shoulders square to the field. Then come in with purpose on a straight line, eyes on the players, and stop about three yards short of them. Coming in at an angle moves the spot half a yard before you have given it.',
  },
  {
    key: 'hold-progress-with-the-feet',
    title: 'Hold the progress spot with the feet',
    expected: 'hold the spot of forward progress with a foot until the ball is placed, never from memory',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['leaves-a-spot'],
    weight: 2,
    guidance:
      'Plant the downfield foot on the yard line of progress and leave it there. Look up at the players once the foot is down; a partner brings the ball to you. A spot carried in the head drifts while you clean up, and it always drifts the way the crowd wants.',
  },
  {
    key: 'mirror-the-spot',
    title: 'Mirror the spot from the other side',
    expected: 'come in on the same yard line as the official who has the spot and help with it',
    positions: [...wings, ...deepWings],
    who: 'who mirrors the spot',
    allOf: ['scrimmage-down', 'leaves-a-spot'],
    weight: 1,
    guidance:
      'Look across, take the yard line from your partner and walk it in, a few yards only. Then turn to the players on your side, who are nobody else’s now. If you saw the ball further up or further back, say so quietly before it is placed.',
  },
  {
    key: 'progress-of-a-driven-back-runner',
    title: 'Give the most forward point',
    expected: 'mark the most forward point when the runner is driven back, with a whistle that ends the push',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['run-or-pass', 'runner-driven-back'],
    weight: 2,
    guidance:
      'Freeze the spot with your foot at the moment progress stops, then look at the runner. A firm whistle now protects somebody who is held up and cannot get away. Watching the pile go backward costs you the yard line and costs the runner a hit.',
    cites: 'ball dead',
  },
  {
    key: 'mark-the-out-of-bounds-spot',
    title: 'Mark where it went out',
    expected:
      'stop on the yard line where the ball crossed the sideline and stay on it until another official has taken it',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['leaves-a-spot', 'out-of-bounds'],
    weight: 2,
    guidance:
      'The spot is where the ball went over the line, not where the runner landed. Stop on that yard line with the downfield foot and hold it, with your eyes on the players beyond the sideline. Stop the clock from there; do not walk.',
    cites: 'out of bounds',
  },
  {
    key: 'get-to-the-spot-at-the-line-to-gain',
    title: 'Get to the spot at the line to gain',
    expected:
      'get to the spot and stop the clock only when certain that the line to gain is reached, else show dead ball (signal 7)',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['line-to-gain-in-question'],
    weight: 3,
    guidance:
      'Know before the snap which yard line it is, and run to it rather than to the pile. Be there, foot down, before you decide. Short or not sure: dead-ball signal and look to your partner. A clock stopped on hope cannot be wound back fairly.',
    cites: 'line to gain',
  },
  {
    key: 'decide-reached-or-measure',
    title: 'One official decides reached or measure',
    expected:
      'decide alone whether the line to gain is reached, missed or to be measured, and tell the referee at once',
    positions: ['line judge'],
    allOf: ['line-to-gain-in-question'],
    weight: 2,
    guidance:
      'Look across at the rod and back to the nose of the ball, from the yard line of the spot. Say one of three words to the referee: first, short, measure. The others hold their spots and say nothing; two answers in front of a bench cost trust.',
  },
  {
    key: 'keep-the-spot-through-a-measurement',
    title: 'Keep the spot through a measurement',
    expected: 'hold the ball still at the spot and keep players away while the distance is measured',
    positions: ['umpire'],
    allOf: ['measured'],
    weight: 1,
    guidance:
      'Kneel beside the ball, one hand on it, tip in place, nobody leaning in. Have the players step back two yards before the rods come. Check the nose of the ball, not the middle, and leave the ball down until the referee has shown the result.',
  },
  {
    key: 'place-the-ball-promptly',
    title: 'Place the ball promptly at the given spot',
    expected: 'place the ball at the spot the wing gives, promptly and at the right hash',
    positions: ['center judge'],
    allOf: ['scrimmage-down-without-score', 'dead-in-bounds'],
    weight: 1,
    guidance:
      'Take the yard line from the feet of the covering wing and look for the hash before you bend down. Face the players while you place it. Be quick, but never ahead of the chains and the referee.',
  },
  {
    key: 'ball-relay',
    title: 'Relay the ball in',
    expected: 'bring the ball from where it was dead to the next spot by short, safe throws',
    positions: ['umpire', 'center judge', ...wings],
    who: 'in the middle or where the ball is dead',
    allOf: ['scrimmage-down', 'dead-in-bounds'],
    unless: ['pass-incomplete', 'scored'],
    weight: 0.5,
    guidance:
      'First the players, then the ball: wait until they have turned away. Hand it or toss it underhand, five to ten yards, to a partner who looks at you. Whoever holds the spot never leaves it to fetch a ball.',
  },
  {
    key: 'down-box-and-chains',
    title: 'Look after the down box and the chains',
    expected:
      'see that the box and the chains move when they should, and that the number of the down is right',
    positions: ['head linesman'],
    allOf: ['scrimmage-down-without-score'],
    weight: 0.5,
    guidance:
      'Say the next down to the box and hear it back before you turn to the field. Send the chains only on a clear first down, and look that the clip is on the right line. The crew of the chains stands two yards off the line; a rod at the sideline trips players and you.',
    cites: 'line to gain',
  },
];
