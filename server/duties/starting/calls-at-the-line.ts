import { wings, wingsAndDeep } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

/** Calls before the snap and on blocks. */
export const callsAtTheLine: StartingDuty[] = [
  {
    key: 'call-line-fouls-at-the-snap',
    title: 'Offside and false start',
    expected: 'rule right on offside, encroachment, false start and formation at the snap',
    positions: ['umpire', ...wings],
    who: 'who is at the line',
    allOf: ['snap'],
    weight: 1,
    guidance:
      'Look along the neutral zone, not at the quarterback; the ball in the edge of your view. First movement decides: who moved, and did it make the other move? A tackle half a step deep that gains nothing gets a word after the play.',
    cites: 'offside and false start',
  },
  {
    key: 'call-holding-at-the-line',
    title: 'Holding at the line',
    expected: 'rule right on holding at and behind the line, at the point of attack',
    positions: ['umpire', 'center judge'],
    allOf: ['run-or-pass'],
    unless: ['kneel-or-spike'],
    weight: 2,
    guidance:
      'Restriction that takes a defender out of the play, where the play goes: feet still trying, body turned or pulled down. Look from the start of the block to its end before you decide. Away from the point of attack, talk.',
    cites: 'holding',
  },
  {
    key: 'call-holding-on-the-tackles',
    title: 'Holding by the tackles',
    expected: 'rule right on holding by the tackles and backs who protect the passer',
    positions: ['referee'],
    allOf: ['pass'],
    unless: ['kneel-or-spike'],
    weight: 1,
    guidance:
      'At the snap look at the tackle on the side you face, then the other, until pressure comes; from then on the passer is yours. A beaten tackle with an arm around a neck or a jersey stretched behind is what you see from there. It must free the passer to matter.',
    cites: 'holding',
  },
  {
    key: 'call-holding-on-the-edge',
    title: 'Holding on the edge',
    expected: 'rule right on blocks on the edge on their side',
    positions: wings,
    who: 'on the play side',
    allOf: ['run-to-a-side'],
    weight: 2,
    guidance:
      'Take the block that decides whether the runner turns the corner, usually the tight end or the outside receiver. Look at hands and at the defender’s shoulders: turned and held is a foul. Keep giving ground while you look; the runner comes to you.',
    cites: 'holding',
  },
  {
    key: 'call-holding-of-receivers',
    title: 'Holding and contact on receivers',
    expected: 'rule right on holding, illegal contact and blocks by and on their key on pass plays',
    positions: wingsAndDeep,
    allOf: ['pass'],
    unless: ['kneel-or-spike'],
    weight: 0.5,
    guidance:
      'Your key only, from the snap until the ball is in the air. Look for a jersey that stretches, an arm that is hooked, a receiver knocked off the route. Does it take away the route or the chance to cover it? If not, a word as they come back.',
    cites: 'holding',
  },
  {
    key: 'call-low-blocks',
    title: 'Blocks below the waist',
    expected: 'rule right on blocks below the waist and chop blocks',
    positions: ['umpire', 'center judge', ...wings],
    who: 'in the middle or on the play side',
    allOf: ['run-or-pass'],
    unless: ['kneel-or-spike'],
    weight: 1,
    guidance:
      'Knees end careers, so see the start: where the blocker came from, in front or from the side, and whether someone else had the player high. Umpire and center judge have the line, the wing the crack-back and the pulling guard. When the first contact was high it is legal.',
    cites: 'block below the waist',
  },
  {
    key: 'call-ineligible-downfield',
    title: 'Ineligible receivers downfield',
    expected: 'rule right on ineligible receivers downfield on a pass beyond the neutral zone',
    positions: ['umpire', 'center judge'],
    allOf: ['pass-thrown', 'pass-beyond-neutral-zone'],
    unless: ['kneel-or-spike'],
    weight: 1,
    guidance:
      'Where was the furthest lineman when the ball left the hand? Take a yard line, not a feeling. Past the limit of the code and a pass clearly beyond the line: a 5-yard foul. A lineman still driving a defender is judged by the same yards.',
    cites: 'ineligible downfield',
  },
  {
    key: 'call-blocks-on-returns',
    title: 'Blocks on returns',
    expected: 'rule right on blocks in the back and below the waist on the return',
    positions: ['umpire', 'center judge', 'side judge', 'field judge', 'back judge'],
    allOf: ['kick-returned'],
    weight: 3,
    guidance:
      'See the start of the block, about ten yards ahead of the runner. Hands on the back without the start is a guess: the player may have turned. Blind-side hits hurt most; was the head up, was it force on somebody who did not see it?',
    cites: 'block in the back',
  },
  {
    key: 'call-roughing-the-snapper',
    title: 'Contact with the snapper',
    expected: 'rule right on contact with the snapper on punts and place kicks',
    positions: ['umpire'],
    anyOf: ['punt', 'place-kick'],
    weight: 1,
    guidance:
      'The snapper’s head is down and the neck is open: watch this player first, for one second after the snap. Straight contact before the snapper can look up is a foul. Only then go to the blocks beside.',
    cites: 'contact with the snapper',
  },
];
