import { everybody, underTheUprights, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

/** Calls on the ball: passes, possession, lines, scores, kicks. */
export const callsOnTheBall: StartingDuty[] = [
  {
    key: 'call-pass-interference',
    title: 'Pass interference',
    expected: 'rule right on interference by either team where the pass comes down',
    positions: everybody,
    who: 'in whose zone the pass comes down',
    allOf: ['pass-beyond-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 3,
    guidance:
      'Category, then effect: what was it (arm bar, hook, cut-off, not playing the ball), and did it take the chance away? By the defense it needs a pass that could be caught; by the offense it does not. Look at the players before the ball arrives, from where you see between them.',
    cites: 'pass interference',
  },
  {
    key: 'call-catch-or-no-catch',
    title: 'Catch or no catch',
    expected: 'rule right on the catch',
    positions: everybody,
    who: 'who rules the pass',
    allOf: ['pass-thrown'],
    anyOf: ['pass-caught', 'catch-in-question'],
    weight: 3,
    guidance:
      'Control, feet, time: look for all three in that order. At the sideline the feet first, then up to the ball. When the receiver goes to the ground see the ball all the way down. Not sure that it was caught: it was not.',
    cites: 'catch',
  },
  {
    key: 'call-forward-or-backward',
    title: 'Forward or backward',
    expected: 'rule right whether the pass went forward or backward',
    positions: wings,
    who: 'on the play side',
    allOf: ['backward-pass'],
    weight: 2,
    guidance:
      'Rule from the release to the first touch, looking along the yard line of the release. Doubtful from the passer’s hand is forward. A ball behind that line is alive, so keep the whistle out until you know.',
    cites: 'backward pass',
  },
  {
    key: 'call-illegal-forward-pass',
    title: 'Passer beyond the line',
    expected: 'rule right whether the passer was beyond the neutral zone at release',
    positions: ['line judge'],
    allOf: ['passer-near-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'Feet on the line, eyes on the passer’s body at release. The whole body has to be beyond the neutral zone; doubt is a legal pass. Ask the referee, who saw it from behind, before you flag.',
    cites: 'forward pass',
    byCode: {
      'high school': {
        guidance:
          'Feet on the line, eyes on the passer’s feet at release. A foot clearly in or beyond where the code forbids it makes the foul; doubt is a legal pass. Ask the referee, who saw it from behind, before you flag.',
      },
    },
  },
  {
    key: 'rule-pass-or-fumble',
    title: 'Pass or fumble',
    expected: 'rule right whether the passer who was hit threw the ball, lost it or was down',
    positions: ['referee'],
    allOf: ['pass-or-fumble-in-question'],
    weight: 3,
    guidance:
      'Look at the hand: was it moving forward with the ball in it when contact came? Empty hand forward is a pass, ball lost before is a fumble, knee down before either is neither. Let it play when you are not sure; a ball called dead cannot be given back.',
    cites: 'fumble',
  },
  {
    key: 'call-grounding',
    title: 'Intentional grounding',
    expected: 'rule right on intentional grounding',
    positions: ['referee'],
    allOf: ['pressure', 'pass-incomplete'],
    weight: 2,
    guidance:
      'You have the passer: pressure, and where the passer stood. Get the rest from the crew first: was a receiver there, did the ball reach the line? The flag may come late and still be right.',
    cites: 'grounding',
  },
  {
    key: 'call-fumble-or-down',
    title: 'Fumble or down',
    expected: 'rule right on fumble or down',
    positions: everybody,
    who: 'who rules the loose ball',
    anyOf: ['fumble', 'fumble-or-down-in-question'],
    weight: 4,
    guidance:
      'Knee, elbow, ball: see all three in order. Get to where you see between the tackler and the runner, five yards off. If you did not see the runner down the ball is loose; let it be recovered and sort it out after.',
    cites: 'fumble',
  },
  {
    key: 'call-touchdown',
    title: 'Touchdown',
    expected: 'rule right on the touchdown',
    positions: everybody,
    who: 'who rules the touchdown',
    allOf: ['goal-line-in-question'],
    weight: 4,
    guidance:
      'The ball, the plane, possession: from the goal line, looking along it. When did the knee come down, and where was the ball then? On a catch in the end zone it is catch first, then score. Not seen over the plane is not a touchdown.',
    cites: 'touchdown',
  },
  {
    key: 'call-safety',
    title: 'Safety or not',
    expected: 'rule right on the safety',
    positions: ['referee', ...wings],
    who: 'who rules the safety',
    allOf: ['safety-in-question'],
    weight: 4,
    guidance:
      'All of the ball behind the plane when progress stops makes it a safety. Progress is the first question: a runner driven back over the line was stopped in front of it. Wing and referee look at each other before either signals.',
    cites: 'safety',
  },
  {
    key: 'call-the-spot',
    title: 'Spot of the ball',
    expected: 'rule the spot of forward progress right',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['leaves-a-spot'],
    weight: 2,
    guidance:
      'The most forward point of the ball in possession. Watch the ball, not the body: a runner falls two yards past the ball he carries. On a kick that is downed or caught it is where that happened.',
    cites: 'ball dead',
  },
  {
    key: 'call-in-or-out',
    title: 'In or out of bounds',
    expected: 'rule right whether runner, receiver or ball was out of bounds',
    positions: everybody,
    who: 'who has the sideline',
    allOf: ['out-of-bounds'],
    weight: 2,
    guidance:
      'Look at the line and the feet, with the body turned along the sideline and two yards off it. The line itself is out. When somebody is pushed, see whether progress had ended in bounds.',
    cites: 'out of bounds',
  },
  {
    key: 'call-the-line-to-gain',
    title: 'Line to gain',
    expected: 'rule right whether the line to gain is reached',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['line-to-gain-in-question'],
    weight: 3,
    guidance:
      'The nose of the ball at the most forward point, against the rod across the field. Certain, or measure: there is no third. Do not let the need of the team move your foot.',
    cites: 'line to gain',
  },
  {
    key: 'call-kick-touching',
    title: 'Who touched the kick',
    expected: 'rule right who touched the kick, where, and whether the kickers might',
    positions: everybody,
    who: 'who sees the touching of the kick',
    allOf: ['kick-touching'],
    weight: 2,
    guidance:
      'On a free kick the ball must go ten yards or be touched by a receiver first; look along that line. On a punt see whether a receiver’s foot or back was grazed: that frees the ball for the kickers. A player blocked into the ball has not touched it; check how your code says it.',
    cites: 'kick touched',
  },
  {
    key: 'call-kick-catch-interference',
    title: 'Room for the returner',
    expected: 'rule right on interference with the catch of a kick',
    positions: everybody,
    who: 'who sees the room of the returner',
    anyOf: ['punt-returned', 'fair-catch'],
    weight: 2,
    guidance:
      'A returner who looks up cannot protect anything. Look at the space in front before the ball arrives, not at the ball: could the player come to it and catch it unhindered? A hit before or with the ball is a foul, and a dangerous one.',
    cites: 'room to catch',
  },
  {
    key: 'call-the-uprights',
    title: 'Kick good or no good',
    expected: 'rule right on the kick',
    ...underTheUprights,
    allOf: ['place-kick-ruled'],
    weight: 4,
    guidance:
      'Look straight up your upright as the ball passes: all of it inside and over the bar. Over the top of an upright counts by where it would have passed. Agree by word before you show it.',
    cites: 'field goal',
  },
];
