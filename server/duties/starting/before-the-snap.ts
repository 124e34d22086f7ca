import { deep, everybody, wings, wingsAndDeep } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const beforeTheSnap: StartingDuty[] = [
  {
    key: 'count-the-offense',
    title: 'Count the offense',
    expected: 'count the offense before every snap and show the partner a count of eleven',
    positions: ['referee', 'umpire'],
    allOf: ['snap'],
    weight: 0.25,
    guidance:
      'Count as the huddle breaks, line first, then backs, and again after a substitution. Look at your partner and show the sign you agreed on before the game. Two who count alone are one who guesses; twelve found after the play costs the crew its calm.',
    cites: 'substitution',
  },
  {
    key: 'count-the-defense',
    title: 'Count the defense',
    expected: 'count the defense before every snap and agree on the count with a partner',
    positions: deep,
    allOf: ['snap'],
    weight: 0.25,
    guidance:
      'From your depth you see all eleven: count from the front back, before you look for your key. Confirm with the nearest partner by sign. Late substitutes are where the twelfth comes from, so count again when anybody runs on.',
    cites: 'substitution',
  },
  {
    key: 'formation-and-eligible-numbers',
    title: 'Read formation and numbers',
    expected:
      'see before every snap that the formation is legal, who is eligible on their side and by number in the middle',
    positions: ['umpire', ...wings],
    allOf: ['snap'],
    weight: 0.5,
    guidance:
      'Wing: settle on the line, point back when your widest player is off it, and know who is covered up. Umpire: look at the numbers of the five inside linemen before you look at the ball. Who is eligible is decided now; after the throw it is too late to ask.',
    cites: 'formation',
  },
  {
    key: 'keys-by-formation',
    title: 'Take the key the formation gives',
    expected: 'take the receivers that the formation gives them before the snap, and stay with them',
    positions: wingsAndDeep,
    who: 'deep or on the strong side',
    allOf: ['run-or-pass'],
    unless: ['kneel-or-spike'],
    weight: 0.5,
    guidance:
      'Find the strong side, then your player: common keys are the widest for the deep wing, the next for the wing, the inside one for the back judge. With three or more on your side say aloud who has whom. Watch the key through the first five to seven yards; the ball is not yours yet.',
  },
  {
    key: 'shift-and-motion',
    title: 'See the shift become still',
    expected: 'see after a shift that all eleven are still for a second before the snap or the next movement',
    positions: wings,
    allOf: ['shift'],
    weight: 1,
    guidance:
      'Count one second to yourself from the moment the last player is set. Look along the line with the backs in the edge of your view. A snap before the second is over is a foul; a twitch that draws nobody is a word after the play.',
    cites: 'shift and motion',
  },
  {
    key: 'motion-is-the-wings',
    title: 'Watch the player in motion',
    expected: 'watch the player in motion who is theirs, and whether the motion is legal at the snap',
    positions: wings,
    who: 'whose the motion is',
    allOf: ['snap', 'motion-to-a-side'],
    weight: 1,
    guidance:
      'At the snap the player must move sideways or back: watch the hips, not the feet. Say to the other wing who has the player, so that one of you looks at the line. Once the ball is snapped go to your key at once.',
    cites: 'shift and motion',
  },
  {
    key: 'hold-for-substitution',
    title: 'Hold the snap for a matching substitution',
    expected: 'stand over the ball until the defense has had its chance to match a substitution',
    positions: ['center judge'],
    allOf: ['run-or-pass', 'offense-substituted'],
    weight: 1,
    guidance:
      'The wing on the bench side calls the substitution, the referee holds both arms out, you stand over the ball. Step away when the arms of the referee come down, back and to the side so that nobody runs you over. Hurrying here gives one team a play against ten.',
    cites: 'substitution',
    byCode: {
      'high school': {
        title: 'See a substitution through',
        expected: 'see that substitutes are on and the replaced players off before the ball is snapped',
        guidance:
          'This code has no hold for the defense to match, so what counts is that the one who was replaced is off in time. Look at the bench side as the huddle breaks and count again. A calm word to the quarterback is quicker than a flag.',
      },
    },
  },
  {
    key: 'ready-for-the-hurry-up',
    title: 'Be ready for the hurry-up',
    expected: 'be in place and looking at the keys before the snap when the offense hurries',
    positions: everybody,
    allOf: ['run-or-pass', 'hurry-up'],
    weight: 1,
    guidance:
      'Spot, back out, turn, find your key: move while the ball is being placed, not after. Umpire, be clear of the linemen before you step away from the ball. If someone is not ready, hold the snap; a play without officials on it is not safe.',
  },
  {
    key: 'watch-the-play-clock',
    title: 'Watch the play clock',
    expected: 'watch the play clock and stop the play on an expired clock',
    positions: ['back judge'],
    instead: [{ crewSize: 4, positions: ['referee'] }],
    anyOf: ['snap', 'stopped-before-the-snap'],
    weight: 1,
    guidance:
      'From ten seconds on look at the clock, then at the ball. When you read zero look at the ball: if it has not moved, whistle and flag at once. Warn the crew at five seconds in the way your manual has it, so that nobody is surprised.',
    cites: 'play clock',
  },
  {
    key: 'unabated-to-the-quarterback',
    title: 'Stop a free rush before the snap',
    expected:
      'kill the play at once when a defender comes through the line with a free way to the quarterback',
    positions: ['umpire', ...wings],
    allOf: ['unabated-to-the-quarterback'],
    weight: 2,
    guidance:
      'A passer who has not the ball yet and a rusher whom nobody blocks: that is how people get hurt. Whistle loud and again, come in with both arms up, and go on until the rusher has stopped. The flag can wait a second, the whistle cannot.',
    cites: 'offside and false start',
    byCode: {
      'high school': {
        title: 'Stop encroachment at once',
        expected: 'kill the play at once when a defender is in the neutral zone before the snap',
        guidance:
          'In this code the ball is dead as soon as a defender breaks the neutral zone, free way or not. Whistle loud, come in with both arms up, and keep the two lines apart. A late whistle lets a rusher hit a quarterback who is not looking.',
      },
    },
  },
];
