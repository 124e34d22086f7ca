import {
  outOfBounds,
  play,
  scored,
  toTheHeadLinesman,
  toTheLineJudge,
  upTheMiddle,
} from '../../../support/table-of-plays.ts';

// Common practice, no source.
export const sidelineAndDeadBall = [
  play(
    '1st and 10 at own 30, run out of bounds after 8 on the line judge side',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 38, ...outOfBounds },
    [
      [4, 'high school', 'eyes-on-players-out-of-bounds', ['line judge']],
      [7, 'college', 'eyes-on-players-out-of-bounds', ['line judge']],
      [7, 'college', 'wait-before-turning-for-a-ball', ['line judge']],
      [7, 'college', 'nearest-others-clean-up', ['field judge']],
      [5, 'high school', 'call-in-or-out', ['line judge']],
      [7, 'college', 'call-in-or-out', ['line judge']],
      [7, 'college', 'call-late-hits', ['line judge']],
      [5, 'high school', 'nearest-others-clean-up', ['umpire']],
      [7, 'college', 'restricted-area-clear', ['line judge']],
      [7, 'college', 'call-late-hits-in-bounds', []],
    ],
  ),
  play(
    '1st and 10 at own 30, run out of bounds after 26 on the head linesman side',
    { kind: 'run', spot: 30, ...toTheHeadLinesman, endSpot: 56, ...outOfBounds },
    [
      [4, 'high school', 'eyes-on-players-out-of-bounds', ['head linesman']],
      [5, 'high school', 'call-in-or-out', ['head linesman']],
      [6, 'college', 'eyes-on-players-out-of-bounds', ['side judge']],
      [7, 'college', 'call-late-hits', ['side judge']],
      [7, 'college', 'nearest-others-clean-up', ['head linesman']],
      [7, 'college', 'call-in-or-out', ['side judge']],
    ],
  ),
  play(
    'kickoff returned and run out of bounds on the line judge side',
    {
      kind: 'free kick',
      spot: 35,
      down: undefined,
      distance: undefined,
      kickTo: 95,
      kickSide: 'middle',
      kickTouchedBy: 'receiving team',
      kickResult: 'returned',
      ...toTheLineJudge,
      endSpot: 72,
      ...outOfBounds,
    },
    [[7, 'college', 'wait-before-turning-for-a-ball', ['line judge']]],
  ),
  play(
    '1st and 10 at own 30, run up the middle for 4, the umpire whistles',
    { kind: 'run', spot: 30, ...upTheMiddle, endSpot: 34, endedBy: 'umpire' },
    [
      [7, 'college', 'eyes-on-players-out-of-bounds', []],
      [7, 'college', 'wait-before-turning-for-a-ball', []],
      [7, 'college', 'restricted-area-clear', []],
      [7, 'college', 'call-in-or-out', []],
      [7, 'college', 'call-late-hits', []],
      [7, 'college', 'get-between-opponents', []],
      [7, 'college', 'composure-with-coaches', []],
      [7, 'college', 'watch-players-after-a-score', []],
      [7, 'college', 'injured-player', []],
    ],
  ),
  play(
    '1st and 10 at own 30, run for 6 to the line judge side, tackled well in bounds',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 36, yardsFromSideline: 12 },
    [
      [4, 'high school', 'stop-before-the-players', ['line judge']],
      [7, 'college', 'stop-before-the-players', ['line judge']],
      [4, 'high school', 'call-late-hits-in-bounds', ['line judge']],
      [7, 'college', 'call-late-hits-in-bounds', ['line judge']],
      [7, 'college', 'call-late-hits', []],
    ],
  ),
  play(
    '1st and 10 at own 30, run of 25 to the head linesman side, tackled well in bounds',
    { kind: 'run', spot: 30, ...toTheHeadLinesman, endSpot: 55, yardsFromSideline: 10 },
    [[7, 'college', 'call-late-hits-in-bounds', ['side judge']]],
  ),
  play(
    '1st and 10 at own 30, run for 4 to the line judge side, the coach there disputes the spot',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 34, coachDispute: true },
    [
      [4, 'high school', 'composure-with-coaches', ['line judge']],
      [7, 'college', 'composure-with-coaches', ['line judge', 'field judge']],
    ],
  ),
  play(
    '1st and 10 at the 12, run to the line judge side for a touchdown: every eye on the players, none on the crowd',
    { kind: 'run', spot: 88, ...toTheLineJudge, endSpot: 100, ...scored },
    [
      [7, 'college', 'wait-before-turning-for-a-ball', []],
      [7, 'college', 'call-the-uprights', []],
    ],
  ),
];
