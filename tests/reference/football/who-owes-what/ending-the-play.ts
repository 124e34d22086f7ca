import {
  incomplete,
  play,
  possessionChanged,
  scored,
  toTheHeadLinesman,
  toTheLineJudge,
  upTheMiddle,
} from '../../../support/table-of-plays.ts';

// Common practice, no source.
export const endingThePlay = [
  play(
    '1st and 10 at own 40, run to the line judge side, gain of 4 in bounds: only the line judge can have ended it',
    { kind: 'run', spot: 40, ...toTheLineJudge, endSpot: 44 },
    [
      [4, 'high school', 'dead-ball-signal', ['line judge']],
      [7, 'college', 'dead-ball-signal', ['line judge']],
      [8, 'college', 'shut-the-play-down', ['line judge']],
    ],
  ),
  play(
    '1st and 10 at own 40, sweep to the head linesman side, gain of 5, the umpire whistles',
    { kind: 'run', spot: 40, ...toTheHeadLinesman, endSpot: 45, endedBy: 'umpire' },
    [
      [7, 'college', 'dead-ball-signal', ['umpire']],
      [5, 'high school', 'whistle-only-when-seen-dead', ['umpire']],
    ],
  ),
  play(
    '1st and 10 at own 40, up the middle for 3, nobody noted who whistled',
    { kind: 'run', spot: 40, ...upTheMiddle, endSpot: 43 },
    [
      [4, 'high school', 'dead-ball-signal', 'undecided'],
      [7, 'college', 'shut-the-play-down', 'undecided'],
      [8, 'college', 'whistle-only-when-seen-dead', 'undecided'],
    ],
  ),
  play(
    '1st and 10 at own 40, up the middle for 3, the center judge whistles',
    { kind: 'run', spot: 40, ...upTheMiddle, endSpot: 43, endedBy: 'center judge' },
    [
      [8, 'college', 'dead-ball-signal', ['center judge']],
      [8, 'college', 'shut-the-play-down', ['center judge']],
    ],
  ),
  play(
    '2nd and 8 at own 40, runner caught in the middle 4 yards behind the line',
    { kind: 'run', spot: 40, down: 2, distance: 8, ...upTheMiddle, endSpot: 36 },
    [
      [4, 'high school', 'dead-ball-signal', ['referee']],
      [7, 'college', 'dead-ball-signal', ['referee']],
    ],
  ),
  play(
    '1st and 10 at own 30, run of 22 down the line judge sideline, tackled in bounds',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 52 },
    [
      [4, 'high school', 'dead-ball-signal', ['line judge']],
      [5, 'high school', 'dead-ball-signal', ['line judge']],
      [6, 'college', 'dead-ball-signal', ['field judge']],
      [7, 'college', 'shut-the-play-down', ['field judge']],
      [8, 'college', 'whistle-only-when-seen-dead', ['field judge']],
    ],
  ),
  play(
    '2nd and 10 at own 30, post caught 30 yards down in the middle and tackled there',
    {
      kind: 'pass',
      spot: 30,
      down: 2,
      passResult: 'complete',
      catchDepth: 30,
      ...upTheMiddle,
      endSpot: 62,
    },
    [
      [5, 'high school', 'dead-ball-signal', ['back judge']],
      [7, 'college', 'dead-ball-signal', ['back judge']],
      [6, 'college', 'dead-ball-signal', 'undecided'],
      [4, 'high school', 'dead-ball-signal', 'undecided'],
    ],
  ),
  play(
    '2nd and 10 at own 30, pass falls incomplete 8 yards down on the line judge side',
    { kind: 'pass', spot: 30, down: 2, ...incomplete, catchDepth: 8, ...toTheLineJudge },
    [
      [4, 'high school', 'incomplete-signal', ['line judge']],
      [7, 'college', 'incomplete-signal', ['line judge']],
      [7, 'college', 'dead-ball-signal', []],
      [7, 'college', 'shut-the-play-down', []],
    ],
  ),
  play(
    '2nd and 10 at own 30, pass falls incomplete 20 yards down on the head linesman side',
    { kind: 'pass', spot: 30, down: 2, ...incomplete, catchDepth: 20, ...toTheHeadLinesman },
    [
      [5, 'high school', 'incomplete-signal', ['head linesman']],
      [6, 'college', 'incomplete-signal', ['side judge']],
      [7, 'college', 'incomplete-signal', ['side judge']],
    ],
  ),
  play(
    '2nd and 10 at own 30, pass falls incomplete 35 yards down in the middle',
    { kind: 'pass', spot: 30, down: 2, ...incomplete, catchDepth: 35, ...upTheMiddle },
    [
      [5, 'high school', 'incomplete-signal', ['back judge']],
      [8, 'college', 'incomplete-signal', ['back judge']],
      [7, 'college', 'sideline-downfield-on-long-runs', []],
    ],
  ),
  play(
    'kickoff returned up the line judge side and ended by the line judge',
    {
      kind: 'free kick',
      spot: 40,
      down: undefined,
      distance: undefined,
      kickTo: 92,
      kickSide: 'middle',
      kickResult: 'returned',
      kickTouchedBy: 'receiving team',
      ...toTheLineJudge,
      endSpot: 73,
      endedBy: 'line judge',
      ...possessionChanged,
    },
    [
      [4, 'high school', 'dead-ball-signal', ['line judge']],
      [5, 'high school', 'shut-the-play-down', ['line judge']],
      [7, 'high school', 'whistle-only-when-seen-dead', ['line judge']],
      [7, 'high school', 'stop-the-clock', ['line judge']],
    ],
  ),
  play(
    '4th and 9 at own 30, punt caught in the middle and returned 6, the back judge whistles',
    {
      kind: 'punt',
      spot: 30,
      down: 4,
      distance: 9,
      kickTo: 75,
      kickSide: 'middle',
      kickCrossed: true,
      kickTouchedBy: 'receiving team',
      kickResult: 'returned',
      ...upTheMiddle,
      endSpot: 69,
      endedBy: 'back judge',
      ...possessionChanged,
    },
    [
      [5, 'high school', 'dead-ball-signal', ['back judge']],
      [7, 'college', 'dead-ball-signal', ['back judge']],
      [7, 'college', 'stop-the-clock', ['back judge']],
    ],
  ),
  play(
    '4th and 9 at own 40, punt into the end zone, touchback: no runner, no play to shut down',
    {
      kind: 'punt',
      spot: 40,
      down: 4,
      distance: 9,
      kickTo: 100,
      kickSide: 'middle',
      kickCrossed: true,
      kickTouchedBy: 'nobody',
      kickResult: 'touchback',
      ...possessionChanged,
    },
    [[7, 'college', 'shut-the-play-down', []]],
  ),
  play(
    '1st and goal at the 3, run to the line judge side for a touchdown: signal 5, not signal 7 or 3',
    { kind: 'run', spot: 97, distance: 3, ...toTheLineJudge, endSpot: 100, ...scored },
    [
      [7, 'college', 'dead-ball-signal', []],
      [7, 'college', 'stop-the-clock', []],
    ],
  ),
];
