import { everybody } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

/** Calls on dangerous contact and on conduct; and every foul that was reported. */
export const callsOnContact: StartingDuty[] = [
  {
    key: 'call-the-fouls-reported',
    title: 'Fouls called',
    expected: 'call only fouls that were there and that mattered',
    positions: everybody,
    who: 'who reports the foul',
    allOf: ['foul-called'],
    weight: 4,
    guidance:
      'See the whole of it: start, contact, effect. Ask where it was and what it changed before the flag leaves the belt; what is dangerous always matters. When you have to guess it is not a foul, and picking up a flag that was wrong is right.',
  },
  {
    key: 'call-hits-on-the-passer',
    title: 'Hits on the passer',
    expected: 'rule right on contact with the passer',
    positions: ['referee'],
    allOf: ['pass'],
    anyOf: ['pass-thrown', 'pressure'],
    unless: ['kneel-or-spike'],
    weight: 3,
    guidance:
      'Steps after the throw, where the hit lands and with what: head, knees, full weight to the ground. Look at the defender from the moment the ball leaves. When the safety of the passer was threatened, it is a foul.',
    cites: 'roughing the passer',
  },
  {
    key: 'call-hits-on-the-kicker',
    title: 'Hits on the kicker',
    expected: 'rule right on contact with the kicker or holder',
    positions: ['referee'],
    anyOf: ['punt', 'place-kick'],
    weight: 3,
    guidance:
      'Plant foot or kicking foot, blocked in or not, touched the ball or not: those three decide which foul or none. Keep looking until both feet are down. A hit on the plant leg is the one that breaks it.',
    cites: 'roughing the kicker',
  },
  {
    key: 'call-targeting',
    title: 'Targeting',
    expected: 'rule right on forcible contact to the head and neck or with the crown of the helmet',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['targeting-called'],
    weight: 4,
    guidance:
      'Look for a launch, a crouch and drive upward, a lowered head; and whether the player hit could defend. Number and spot at once, and say what you saw to the referee. When in question the safety of the player decides: it is a foul.',
    cites: 'targeting',
  },
  {
    key: 'call-horse-collar-and-face-mask',
    title: 'Horse collar and face mask',
    expected: 'rule right on tackles by the collar, the face mask and the helmet opening',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['dead-in-bounds'],
    anyOf: ['run', 'pass-caught', 'quarterback-runs'],
    unless: ['touchdown', 'kneel-or-spike'],
    weight: 0.5,
    guidance:
      'See how the runner comes down: backward with bent legs means a hand inside the collar, a turned head a hand on the mask. Look at the hand and wait for the pull; a touch that lets go is none. These injure knees and necks, so be near enough to see fingers.',
    cites: 'horse collar and face mask',
  },
  {
    key: 'call-late-hits',
    title: 'Hits out of bounds',
    expected: 'rule right on contact with a player who is out of bounds',
    positions: everybody,
    who: 'who has the sideline',
    allOf: ['out-of-bounds'],
    weight: 3,
    guidance:
      'Two feet down outside, then contact: could the defender have held back? Look past the spot to the players until they have stopped. Out there are benches and cables, and the runner has stopped protecting himself.',
    cites: 'late hit',
  },
  {
    key: 'call-late-hits-in-bounds',
    title: 'Late hits in bounds',
    expected: 'rule right on contact after the ball is dead in bounds',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['ball-carried-to-an-end', 'dead-in-bounds'],
    weight: 1,
    guidance:
      'Whistle, then look at the second and the third to arrive. Who could have held back and did not has fouled; who was in the air has not. On a kneel-down see who dives at the line. Nobody needs a hit after the whistle: players get hurt here.',
    cites: 'late hit',
  },
  {
    key: 'call-unsportsmanlike',
    title: 'Unsportsmanlike acts',
    expected: 'rule right on unsportsmanlike acts by players and coaches',
    positions: everybody,
    who: 'who reports the unsportsmanlike foul',
    allOf: ['unsportsmanlike-called'],
    weight: 2,
    guidance:
      'Joy is no foul; what is aimed at an opponent, an official or the crowd is. See the act and the number, and say the words that were used to the referee, not to the bench. A second one ends the player’s game, so be right and have noted the first.',
    cites: 'unsportsmanlike',
  },
];
