import { everybody } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const endingThePlay: StartingDuty[] = [
  {
    key: 'dead-ball-signal',
    title: 'Dead-ball signal',
    expected:
      'give the dead-ball signal (signal 7) at once, so that the play-clock operator can start 40 or 25 seconds',
    positions: everybody,
    who: 'who ends the play',
    allOf: ['ball-carried-to-an-end', 'dead-in-bounds'],
    unless: ['scored'],
    weight: 2,
    guidance:
      'The operator sees an arm, not a whistle. Stop, then one hand straight up for two seconds, on every play, also when the result is plain. Keep looking at the players while the arm is up.',
    cites: 'play clock',
  },
  {
    key: 'stop-the-clock',
    title: 'Stop the clock when the rules do',
    expected: 'follow the whistle with stop the clock (signal 3) when the rules call for it',
    positions: everybody,
    who: 'who stops the clock',
    allOf: ['clock-stopped-by-the-ending'],
    // Under the uprights it is their signal; and a clock that never started is stopped by nobody.
    unless: ['place-kick-ruled', 'clock-never-started'],
    weight: 2,
    guidance:
      'Whistle, then both arms crossed over the head, twice and crisply, facing the field. Who ended the play stops the clock, the others repeat it. Out of bounds and a change of possession stop it; a first down only late in a half, so know the time before the snap.',
    cites: 'game clock',
    byCode: {
      'high school': {
        guidance:
          'Whistle, then both arms crossed over the head, twice and crisply, facing the field. Who ended the play stops the clock, the others repeat it. Out of bounds, a first down and a change of possession stop it at any time of the game.',
      },
    },
  },
  {
    key: 'shut-the-play-down',
    title: 'Shut the play down loud and visibly',
    expected: 'end the play with a whistle and a presence that players hear and see',
    positions: everybody,
    who: 'who ends the play',
    allOf: ['ball-carried-to-an-end', 'dead-in-bounds'],
    unless: ['scored'],
    weight: 1,
    guidance:
      'One long blast, then close the distance to about three yards while you whistle. Look at who is arriving late, not at the runner on the ground. Late hits start where nobody heard that it was over.',
  },
  {
    key: 'whistle-only-when-seen-dead',
    title: 'Whistle only when the ball is seen dead',
    expected:
      'see before whistling that the ball is dead: held by a runner who is down, stopped or out, or a kick that is caught for good or at rest',
    positions: everybody,
    who: 'who ends the play',
    anyOf: ['run-or-pass', 'kick-returned-or-downed', 'fair-catch', 'kick-blocked'],
    unless: ['pass-incomplete'],
    weight: 3,
    guidance:
      'Look for leather in an arm, and for the knee or the elbow on the ground. No ball, no whistle: keep the whistle out of your mouth until you have seen both. A late whistle costs nothing; an early one can cost a game.',
    cites: 'ball dead',
  },
  {
    key: 'incomplete-signal',
    title: 'Incomplete signal from who saw it',
    expected: 'signal the incomplete pass at once when it comes down in their zone',
    positions: everybody,
    who: 'in whose zone the pass comes down',
    allOf: ['pass-incomplete'],
    weight: 1,
    guidance:
      'See the ball on the ground, stop, then the signal, low and twice. On a close one look at your partner before you sell it. Partners outside the zone repeat only what was signalled; then everybody’s eyes go to the players.',
  },
  {
    key: 'wind-it-in-bounds',
    title: 'Show that the clock keeps running',
    expected: 'show start the clock (signal 2) when the runner is down in bounds near the sideline',
    positions: everybody,
    who: 'who ends the play',
    allOf: ['ball-carried-to-an-end', 'near-the-sideline', 'clock-runs-on'],
    weight: 1,
    guidance:
      'Within about five yards of the sideline everybody looks at you for the clock. Down in bounds: plant the foot, wind twice with the arm away from the field, then come in. Never wind and stop on one play; when the line to gain stops the clock, stop it.',
    cites: 'game clock',
  },
  {
    key: 'clock-late-in-the-half',
    title: 'Know the clock status late in the half',
    expected: 'know and show whether the clock runs or stands before going to the spot',
    positions: everybody,
    who: 'who ends the play',
    allOf: ['ball-carried-to-an-end', 'late-in-the-half'],
    weight: 2,
    guidance:
      'Before each snap inside two minutes say to yourself what stops the clock here. At the end of the play show it first, big and once, then go to the spot. Five seconds lost to a slow arm may be the last play of the game.',
    cites: 'game clock',
  },
  {
    key: 'two-minute-management',
    title: 'Manage the last two minutes',
    expected: 'keep time-outs, clock status and spots right and quick in the last two minutes of a half',
    positions: everybody,
    who: 'the referee and who ends the play',
    allOf: ['ball-carried-to-an-end', 'late-in-the-half'],
    weight: 1,
    guidance:
      'Referee: know both teams’ time-outs and look at the clock before and after each play. Who ends the play: spot first, no pile left alone, ball in at a pace that is the same for both teams. Hurried crews lose the clock; slow ones take plays away.',
    cites: 'game clock',
    byCode: {
      college: {
        guidance:
          'A time-out by rule comes at two minutes; use it to tell both benches their time-outs and to agree on what stops the clock now. Referee: look at the clock before and after each play. Who ends the play: spot first, then the ball, at a pace that is the same for both teams.',
      },
    },
  },
  {
    key: 'wind-or-snap',
    title: 'Say whether it starts on the ready or the snap',
    expected: 'know what the stopped clock waits for, and signal it before the ready',
    positions: ['referee'],
    allOf: ['clock-stops'],
    unless: ['scored'],
    weight: 1,
    guidance:
      'Ask yourself why it stopped: that alone decides. On the ready: whistle and wind in one motion, with your eyes on the clock until it moves. On the snap: show it to the wings and leave your arm down. When you are not sure, ask before the ready, never after.',
    cites: 'game clock',
  },
  {
    key: 'ten-second-runoff',
    title: 'Administer the ten seconds',
    expected: 'recognise when ten seconds may come off, offer the choice, and set and start the clock right',
    positions: ['referee'],
    allOf: ['ten-second-runoff'],
    codes: ['college'],
    weight: 2,
    guidance:
      'Inside the last minute of a half, a foul, an injury or a review that stopped a running clock brings it up. Say the choice to the side that has it: penalty, seconds, time-out to save them. Then set the clock, tell both benches, and start it on the ready.',
    cites: 'runoff of ten seconds',
  },
  {
    key: 'inadvertent-whistle',
    title: 'Own an inadvertent whistle',
    expected: 'own the whistle at once, mark where the ball was, and tell the referee who had it and how',
    positions: everybody,
    who: 'who ends the play',
    allOf: ['inadvertent-whistle'],
    weight: 2,
    guidance:
      'Stop, drop a bean bag where the ball was, and look who had it and whether it was loose. Come to the referee before anybody asks: "it was mine". The rule needs the status of the ball at the whistle, so say that first. Players have stopped protecting themselves; keep them apart.',
    cites: 'inadvertent whistle',
  },
  {
    key: 'replay-communication',
    title: 'Make the review plain to everybody',
    expected: 'announce what is reviewed, and afterwards the ruling, the reason, the spot and the clock',
    positions: ['referee'],
    allOf: ['replay-review'],
    codes: ['college'],
    weight: 1,
    guidance:
      'Say what the ruling on the field was before you go. Have the wings hold the spots, the umpire the ball, and the clock time noted. Afterwards: confirmed, stands or overturned, then down, spot and clock, in that order and once.',
    cites: 'replay',
  },
];
