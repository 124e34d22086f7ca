import { everybody, underTheUprights, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const kicks: StartingDuty[] = [
  {
    key: 'restraining-lines',
    title: 'Have a restraining line',
    expected: 'see that nobody is over their restraining line when the free kick is kicked',
    positions: everybody,
    who: 'who stands at a restraining line',
    allOf: ['free-kick'],
    weight: 0.5,
    guidance:
      'Stand on the line, a step outside the sideline, and look along it from the kicker’s last two steps to the kick. Count your team while you wait and see that all kickers are legal in place. Then eyes to the first blocks in front of you, not to the ball.',
    cites: 'free kick',
  },
  {
    key: 'free-kick-ready-and-clock',
    title: 'Ready for the free kick, and the clock',
    expected:
      'see the crew ready before the free kick, and start the clock when the ball is legally touched in the field of play',
    positions: everybody,
    who: 'who stands deep on a free kick',
    allOf: ['free-kick'],
    weight: 0.5,
    guidance:
      'Referee: look for a raised hand from everybody before the whistle for ready. Deep officials: see the touch, then wind at once; a ball that is not touched in the field of play starts no clock. Hold your place until the catch, five yards behind and beside it.',
    cites: 'game clock',
  },
  {
    key: 'free-kick-sideline',
    title: 'Cover about 15 yards of the sideline',
    expected: 'cover about 15 yards down the sideline on the free kick',
    positions: wings,
    who: 'who is deep on the return side',
    allOf: ['free-kick-returned'],
    weight: 1,
    guidance:
      'Your stretch begins at the goal line and goes about 15 yards; know who has it from there. Stay outside the line with your shoulders to the field and look at the runner’s feet. Past your stretch, stop and watch the blocks behind the runner.',
  },
  {
    key: 'free-kick-ahead-of-the-runner',
    title: 'Stay ahead of the free-kick runner',
    expected: 'stay ahead of the runner down the sideline',
    positions: wings,
    who: 'who is deep on the return side',
    allOf: ['free-kick-returned'],
    weight: 1,
    guidance:
      'Leave with the catch and keep a cushion of ten yards; never run level with the runner. When the play turns to you give ground outside early. The collision you avoid is your own.',
  },
  {
    key: 'free-kick-progress',
    title: 'Progress on the free-kick return',
    expected: 'rule on forward progress of the return',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['free-kick-returned'],
    weight: 2,
    guidance:
      'Angle in as the return comes to you, find the ball, and put the downfield foot on the yard line. In the open field runners fall forward: the spot is where the ball was when the knee came down. Hold it until the chains know where they go.',
    cites: 'ball dead',
  },
  {
    key: 'bag-first-touching',
    title: 'Mark first touching',
    expected: 'mark the spot where the kicking team touched the kick first with a bean bag',
    positions: everybody,
    who: 'where the kick is touched first',
    allOf: ['first-touching'],
    weight: 2,
    guidance:
      'Bag on the yard line of the touch and play on, no whistle: the receiving team may still pick it up and may take this spot later. Have the bag in your hand before the kick comes down. Two touches are two bags; throw your cap when you have no more.',
    cites: 'kick touched',
  },
  {
    key: 'onside-alignment',
    title: 'Line up for a short kick',
    expected: 'move up for an expected short kick, bean bag in hand, and agree who has which line',
    positions: everybody,
    who: 'who stands at a restraining line',
    allOf: ['onside-kick'],
    weight: 1,
    guidance:
      'When a short kick is likely, everybody at a line stands on it and those behind come up. Say who has the ten yards, who has the touch and who digs. Bag in hand; stand outside the sideline, because players will dive where you are.',
  },
  {
    key: 'onside-kick-lines',
    title: 'Own a line on a short kick',
    expected: 'hold a restraining line and rule on the ten yards and on who touches first',
    positions: everybody,
    who: 'who stands at a restraining line',
    allOf: ['onside-kick'],
    weight: 2,
    guidance:
      'Straddle your line and look along it: did the ball break the plane before a kicker touched it? Look for a block by the kickers before they may. Then let partners dig and keep the line; nobody else can say where it was touched.',
    cites: 'free kick',
  },
  {
    key: 'fair-catch-signal-seen',
    title: 'See the signal for a fair catch',
    expected: 'see who signalled for a fair catch and whether it was valid, and protect that player',
    positions: everybody,
    who: 'who has the returner',
    allOf: ['fair-catch-signal'],
    weight: 1,
    guidance:
      'Valid is an arm clearly up and waved more than once; anything less still ends the return. Note the number of the signaller, because that player may not block. Be five to seven yards off to the side, see the catch, whistle, and look who comes in late.',
    cites: 'fair catch',
  },
  {
    key: 'kick-ends-bag',
    title: 'Bag the end of the kick',
    expected: 'drop a bean bag where the kick ended in possession or was downed',
    positions: everybody,
    who: 'where the kick is touched first',
    allOf: ['kick-returned-or-downed'],
    weight: 1,
    guidance:
      'Bag on the yard line where the ball was caught, at the side of the field, without taking your eyes off the play. Fouls during the kick may be enforced from there. Thrown at your own feet it is worth nothing.',
    cites: 'penalty enforcement',
  },
  {
    key: 'momentum-spot',
    title: 'Bag the spot of a momentum catch',
    expected: 'mark where a ball was caught or recovered near the own goal line when momentum carries it in',
    positions: everybody,
    who: 'who has the goal line on a kick',
    anyOf: ['momentum'],
    allOf: ['live-ball'],
    weight: 2,
    guidance:
      'Inside the 5 ask yourself at the catch: feet, direction, did the player have a choice? Bag on the yard line of the catch at once. Without that bag nobody can tell a touchback or a safety from a ball at the 2.',
    cites: 'momentum',
  },
  {
    key: 'return-blocks-in-front',
    title: 'Watch the blocks in front of the return',
    expected: 'watch the blocks in front of the runner on the return rather than the runner',
    positions: ['umpire', 'center judge', 'side judge', 'field judge'],
    who: 'who does not have the spot',
    allOf: ['kick-returned'],
    weight: 2,
    guidance:
      'One official has the runner, everybody else has blocks, about ten yards in front. Look at the start of the block: backs, knees and blind sides are what hurts players. Keep outside the lane of the return and let it pass.',
  },
  {
    key: 'punt-line-until-it-crosses',
    title: 'Hold the line until the punt crosses it',
    expected:
      'hold the line of scrimmage until the punt has crossed it, then move downfield with the coverage',
    positions: ['line judge'],
    instead: [{ crewSize: 4, positions: ['head linesman'] }],
    allOf: ['punt'],
    unless: ['kick-blocked'],
    weight: 1,
    guidance:
      'Stay on the line with both feet until you see the ball over it. A touch or a block there is yours alone, and it decides who may advance the ball. Then go down with the coverage, outside the sideline, eyes on blocks.',
    cites: 'kick from scrimmage',
  },
  {
    key: 'ball-crossing-the-neutral-zone-on-a-kick',
    title: 'Rule whether the kick crossed',
    expected: 'rule whether a blocked or short kick crossed the neutral zone, and who touched it where',
    positions: ['umpire', ...wings],
    who: 'who is at the line',
    allOf: ['kick-at-the-neutral-zone'],
    weight: 2,
    guidance:
      'Whoever has the line stays on it when a kick is hit; look along it for the ball. Behind the line either team may pick it up and run, beyond it the kickers may not. A touch behind the line does not count; say which you saw.',
    cites: 'kick from scrimmage',
  },
  {
    key: 'punter-protection',
    title: 'Stay with the kicker',
    expected: 'watch the kicker until the kicker can defend against a hit again',
    positions: ['referee'],
    allOf: ['punt'],
    weight: 3,
    guidance:
      'Stand three to five yards outside the kicker’s leg and behind. Ball away, eyes stay: plant foot, kicking foot, until both are down and nobody is near. A kicker on one leg cannot protect a knee.',
  },
  {
    key: 'covering-the-returner',
    title: 'Cover the returner',
    expected: 'have the kick, the signal for a fair catch and the first tackle on the returner',
    positions: everybody,
    who: 'who has the returner',
    allOf: ['punt'],
    anyOf: ['punt-returned', 'fair-catch'],
    weight: 2,
    guidance:
      'Be level with the catch or a little behind it, seven to ten yards off to the side. See the signal, the catch, and the room that was given, in that order. After the catch hand the runner over and look at the blocks; stay out of the first cut.',
  },
  {
    key: 'kick-at-the-goal-line',
    title: 'Rule on the kick at the goal line',
    expected: 'be at the goal line and rule whether the kick is a touchback or downed',
    positions: everybody,
    who: 'who has the goal line on a kick',
    allOf: ['kick-at-the-goal-line'],
    weight: 2,
    guidance:
      'Get to the goal line before the ball does, straddle it, bean bag ready. The ball and the plane matter, not the feet of the player who bats it back. Signal only when the ball has stopped or been touched in the end zone.',
    cites: 'kick from scrimmage',
  },
  {
    key: 'kick-out-of-bounds-spot',
    title: 'Spot a kick that goes out of bounds',
    expected:
      'give the spot where the kick crossed the sideline, with the referee lining it up when it went out in the air',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['kick-out-of-bounds'],
    weight: 1,
    guidance:
      'On the ground you saw it: go there and plant the foot. In the air: run past the place, turn, and walk back along the sideline with an arm up until the referee chops you down. Watch the players first; they are still running.',
    cites: 'out of bounds',
  },
  {
    key: 'uprights',
    title: 'Rule on the uprights together',
    expected: 'rule on the kick from under the uprights and signal together',
    ...underTheUprights,
    allOf: ['place-kick-ruled'],
    weight: 2,
    guidance:
      'One behind each upright, a step off the end line, looking straight up it; say who also has the crossbar. Say yes or no to each other, step out two steps, one signal together. Then turn to the players: hits on the line after a kick are common.',
  },
  {
    key: 'holder-and-kicker',
    title: 'Watch holder and kicker',
    expected: 'watch the holder and the kicker on a place kick until they can protect themselves',
    positions: ['referee'],
    allOf: ['place-kick'],
    weight: 2,
    guidance:
      'Stand behind and to the side of the kicking leg and face the holder, who kneels and cannot get away. The kick itself belongs to the officials under the uprights. Be ready for a bad snap: then the holder is a runner and it is a play like any other.',
  },
];
