import { outOfBounds, play, toTheHeadLinesman, toTheLineJudge } from '../../../support/table-of-plays.ts';

// Common practice, no source.
export const safetyAndConduct = [
  play(
    '1st and 10 at own 40, run for 5 to the head linesman side, tackled in bounds',
    { kind: 'run', spot: 40, ...toTheHeadLinesman, endSpot: 45, endedBy: 'head linesman' },
    [
      [4, 'high school', 'call-horse-collar-and-face-mask', ['head linesman']],
      [7, 'college', 'call-horse-collar-and-face-mask', ['head linesman']],
      [7, 'college', 'call-targeting', []],
      [7, 'college', 'call-unsportsmanlike', []],
      [7, 'college', 'sideline-warning', []],
    ],
  ),
  play(
    '1st and 10 at own 30, run of 25 to the line judge side, tackled in bounds',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 55 },
    [
      [5, 'high school', 'call-horse-collar-and-face-mask', ['line judge']],
      [7, 'college', 'call-horse-collar-and-face-mask', ['field judge']],
    ],
  ),
  play(
    '1st and 10 at own 30, tackled out of bounds on the line judge side',
    { kind: 'run', spot: 30, ...toTheLineJudge, endSpot: 38, ...outOfBounds },
    [[7, 'college', 'call-horse-collar-and-face-mask', []]],
  ),
  play(
    '1st and 10 at own 30, receiver hit high 8 yards down on the line judge side, the line judge has targeting',
    {
      kind: 'pass',
      spot: 30,
      passResult: 'complete',
      catchDepth: 8,
      ...toTheLineJudge,
      endSpot: 38,
      fouls: [
        {
          foul: 'targeting',
          by: 'defense',
          reportedBy: 'line judge',
          outcome: 'accepted',
          moment: 'live ball',
        },
      ],
      ejection: true,
      clockAfter: 'stopped',
      clockStoppedFor: 'foul',
    },
    [
      [4, 'high school', 'call-targeting', ['line judge']],
      [7, 'college', 'call-targeting', ['line judge']],
      [7, 'college', 'call-unsportsmanlike', []],
    ],
  ),
  play(
    '1st and 10 at own 30, run of 25 to the head linesman side, the side judge has taunting after the play',
    {
      kind: 'run',
      spot: 30,
      ...toTheHeadLinesman,
      endSpot: 55,
      fouls: [
        {
          foul: 'unsportsmanlike conduct',
          by: 'offense',
          reportedBy: 'side judge',
          outcome: 'accepted',
          moment: 'dead ball',
        },
      ],
      clockAfter: 'stopped',
      clockStoppedFor: 'foul',
    },
    [
      [7, 'college', 'call-unsportsmanlike', ['side judge']],
      [7, 'college', 'call-targeting', []],
    ],
  ),
  play(
    '1st and 10 at own 40, run to the line judge side for 4, the line judge warns that sideline',
    {
      kind: 'run',
      spot: 40,
      ...toTheLineJudge,
      endSpot: 44,
      fouls: [{ foul: 'sideline warning', by: 'defense', reportedBy: 'line judge' }],
      clockAfter: 'stopped',
      clockStoppedFor: 'foul',
    },
    [
      [5, 'high school', 'sideline-warning', ['line judge']],
      [6, 'college', 'sideline-warning', ['line judge']],
      [8, 'college', 'sideline-warning', ['line judge']],
    ],
  ),
  play(
    '1st and 10 at own 40, run to the head linesman side for 5, helmet of a blocker comes off there, no foul',
    {
      kind: 'run',
      spot: 40,
      ...toTheHeadLinesman,
      endSpot: 45,
      helmetOff: true,
      clockAfter: 'stopped',
      clockStoppedFor: 'helmet off',
    },
    [
      [6, 'college', 'helmet-off-watch', ['head linesman']],
      [8, 'college', 'helmet-off-watch', ['head linesman']],
    ],
  ),
  play(
    '1st and 10 at own 40, run to the head linesman side for 5, two opponents confront each other there',
    { kind: 'run', spot: 40, ...toTheHeadLinesman, endSpot: 45, confrontation: true },
    [
      [4, 'high school', 'get-between-opponents', ['head linesman']],
      [6, 'college', 'get-between-opponents', ['head linesman']],
    ],
  ),
];
