import { play, toTheHeadLinesman, toTheLineJudge } from '../../../support/table-of-plays.ts';

// Common practice, no source.
export const beforeTheSnap = [
  play(
    '1st and 10 at own 40, run to the line judge side for 4, a set formation',
    { kind: 'run', spot: 40, ...toTheLineJudge, endSpot: 44, endedBy: 'line judge' },
    [
      [4, 'high school', 'count-the-offense', ['referee', 'umpire']],
      [7, 'college', 'count-the-offense', ['referee', 'umpire']],
      [4, 'high school', 'count-the-defense', ['head linesman', 'line judge']],
      [6, 'college', 'count-the-defense', ['side judge', 'field judge']],
      [7, 'college', 'count-the-defense', ['side judge', 'field judge', 'back judge']],
      [5, 'high school', 'formation-and-eligible-numbers', ['umpire', 'head linesman', 'line judge']],
      [7, 'college', 'formation-and-eligible-numbers', ['umpire', 'head linesman', 'line judge']],
      [6, 'college', 'keys-by-formation', ['head linesman', 'line judge', 'side judge', 'field judge']],
      [7, 'college', 'shift-and-motion', []],
      [7, 'college', 'motion-is-the-wings', []],
      [7, 'college', 'unabated-to-the-quarterback', []],
    ],
  ),
  play(
    '1st and 10 at own 40, a back leaves the head linesman side in motion and nears the line judge',
    {
      kind: 'run',
      spot: 40,
      motion: 'line judge side',
      motionFrom: 'head linesman side',
      ...toTheHeadLinesman,
      endSpot: 44,
    },
    [
      [5, 'high school', 'motion-is-the-wings', ['line judge']],
      [7, 'college', 'motion-is-the-wings', ['line judge']],
      [7, 'college', 'motion-is-the-wings', ['head linesman'], { motion: 'the wing it leaves' }],
    ],
  ),
  play(
    '1st and 10 at own 40, two backs shift before the snap',
    { kind: 'run', spot: 40, shift: true, ...toTheLineJudge, endSpot: 44 },
    [
      [4, 'high school', 'shift-and-motion', ['head linesman', 'line judge']],
      [7, 'college', 'shift-and-motion', ['head linesman', 'line judge']],
    ],
  ),
  play(
    'defensive end comes across unabated to the quarterback before the snap',
    {
      kind: 'no snap',
      spot: 40,
      fouls: [{ foul: 'offside', by: 'defense', reportedBy: 'line judge', outcome: 'accepted' }],
      clockAfter: 'stopped',
      clockStoppedFor: 'foul',
    },
    [
      [8, 'college', 'shut-down-before-the-snap', ['umpire', 'center judge', 'head linesman', 'line judge']],
      [4, 'high school', 'shut-down-before-the-snap', ['umpire', 'head linesman', 'line judge']],
      [7, 'college', 'unabated-to-the-quarterback', ['umpire', 'head linesman', 'line judge']],
      [4, 'college', 'unabated-to-the-quarterback', ['umpire', 'head linesman', 'line judge']],
      [7, 'college', 'dead-ball-signal', []],
      [7, 'college', 'call-the-spot', []],
    ],
  ),
  play(
    '1st and 10 at own 40, three receivers on the line judge side',
    { kind: 'run', spot: 40, strongSide: 'line judge side', ...toTheLineJudge, endSpot: 44 },
    [
      [7, 'college', 'keys-by-formation', ['line judge', 'side judge', 'field judge', 'back judge']],
      [5, 'high school', 'keys-by-formation', ['line judge', 'back judge']],
      [4, 'high school', 'formation-and-eligible-numbers', ['umpire', 'head linesman', 'line judge']],
      [8, 'college', 'count-the-offense', ['referee', 'umpire']],
    ],
  ),
  play(
    '1st and 10 at own 40, nobody noted whether anybody was in motion',
    { kind: 'run', spot: 40, motion: undefined, ...toTheLineJudge, endSpot: 44 },
    [[7, 'college', 'motion-is-the-wings', 'undecided']],
  ),
  play(
    '1st and 10 at own 40, the offense hurries to the line without a huddle',
    { kind: 'run', spot: 40, hurryUp: true, ...toTheLineJudge, endSpot: 44 },
    [
      [4, 'high school', 'ready-for-the-hurry-up', ['referee', 'umpire', 'head linesman', 'line judge']],
      [
        6,
        'college',
        'ready-for-the-hurry-up',
        ['referee', 'umpire', 'head linesman', 'line judge', 'side judge', 'field judge'],
      ],
    ],
  ),
];
