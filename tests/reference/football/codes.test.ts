import { describe, expect, it } from 'vitest';
import { type Code, type CodeFacts, codeFacts } from '../../../server/football/codes.ts';
import { nextPlay } from '../../../server/football/next-play.ts';
import type { Play } from '../../../server/football/play.ts';
import { playClockAfter, playClockSeconds } from '../../../server/football/play-clock.ts';
import { type Signal, signals } from '../../../server/football/signals.ts';
import { penaltyYards } from '../../../server/football/yardages.ts';
import { ordinary } from '../../support/table-of-plays.ts';

// What the program takes from the two rules books, each beside book and rule. "Read": the rule's text or an approved
// ruling on it was read in a public copy when this was written. "From memory": nobody could look it up, value and
// number may be out of date. Check the current edition, which prevails.
const ncaa = 'NCAA Football Rules and Interpretations, rule';
const nfhs = 'NFHS Football Rules Book, rule';

type Checked = {
  [F in keyof CodeFacts]: readonly [code: Code, fact: F, value: CodeFacts[F], source: string];
}[keyof CodeFacts];

const published: readonly Checked[] = [
  ['college', 'quarterSeconds', 15 * 60, `${ncaa} 3-2-1: 60 minutes in four periods of 15 (read)`],
  ['high school', 'quarterSeconds', 12 * 60, `${nfhs} 3-1-1: 48 minutes for high schools (read)`],
  ['college', 'kickoffFrom', 35, `${ncaa} 6-1-1 (from memory); A.R. to 3-3-2: free kick at the A-35 (read)`],
  [
    'high school',
    'kickoffFrom',
    40,
    `${nfhs} 6-1-1 (from memory; the 40 itself read in an association's notes)`,
  ],
  ['college', 'freeKickAfterSafetyFrom', 20, `${ncaa} 3-3-2, A.R. IX: free kick at the A-20 (read)`],
  ['high school', 'freeKickAfterSafetyFrom', 20, `${nfhs} 6-1-1 (from memory)`],
  ['college', 'tryFrom', 100 - 3, `${ncaa} 8-3-2: the 3-yard line (from memory)`],
  ['high school', 'tryFrom', 100 - 3, `${nfhs} 8-3-1: the 3-yard line (read in an association's quiz)`],
  ['college', 'touchbackOfFreeKick', 25, `${ncaa} 8-6-2 (number from memory; the 25 since 2012 read)`],
  ['college', 'touchbackOfPunt', 20, `${ncaa} 8-6-2: own 20 (read in the IFAF book, which follows it)`],
  ['high school', 'touchbackOfFreeKick', 20, `${nfhs} 8-5-4 (from memory)`],
  ['high school', 'touchbackOfPunt', 20, `${nfhs} 8-5-4 (from memory)`],
  ['college', 'overtimeFrom', 25, `${ncaa} 3-1-3, A.R. XII and XIII: the 25-yard line (read)`],
  [
    'high school',
    'overtimeFrom',
    10,
    'NFHS Football Rules Book, Resolving Tied Games: first and goal on the 10 (read in an association deck); by state adoption',
  ],
  [
    'college',
    'firstDownStopsClock',
    'late in a half',
    `${ncaa} 3-3-2-e-1: after the two-minute timeout in the 2nd and 4th quarters (read)`,
  ],
  ['high school', 'firstDownStopsClock', 'always', `${nfhs} 3-4-3 (from memory)`],
  [
    'college',
    'afterOutOfBounds',
    'ready',
    `${ncaa} 3-3-2-e-3: on the referee's signal but in the last two minutes, 3-3-2-d-2 (read)`,
  ],
  ['high school', 'afterOutOfBounds', 'snap', `${nfhs} 3-4-2 (from memory)`],
  ['college', 'twoMinuteTimeout', true, `${ncaa} 3-3-2-e-1 and 3-3-10-b name it (read)`],
  ['high school', 'twoMinuteTimeout', false, `${nfhs} 3: none (from memory)`],
  ['college', 'tenSecondRunoff', true, `${ncaa} 3-4-4 and 3-3-10-b-2 (read)`],
  ['high school', 'tenSecondRunoff', false, `${nfhs} 3: none (from memory)`],
  ['college', 'replayReview', true, `${ncaa} 12 (from memory)`],
  [
    'high school',
    'replayReview',
    false,
    `${nfhs} 1-3-7: only where a state association adopts it for its postseason (from memory)`,
  ],
];

describe('what the codes set', () => {
  it.each(published)('%s, %s is %s: %s', (code, fact, value) => {
    expect(codeFacts[code][fact]).toBe(value);
  });

  it('is held to a rule in full: every fact of both codes', () => {
    for (const [code, facts] of Object.entries(codeFacts)) {
      expect(
        published
          .filter(([of]) => of === code)
          .map(([, fact]) => fact)
          .sort(),
      ).toEqual(Object.keys(facts).sort());
    }
  });
});

describe('the next play follows the code', () => {
  const touchdown: Play = { kind: 'run', spot: 90, endSpot: 100, score: 'touchdown' };
  const safety: Play = { kind: 'run', spot: 3, endSpot: 0, score: 'safety' };
  const touchback = (kind: 'free kick' | 'punt'): Play => ({ kind, spot: 40, kickResult: 'touchback' });

  // Same rules as above.
  it.each([
    ['college', 35, 900, 97, 20, 25, 20],
    ['high school', 40, 720, 97, 20, 20, 20],
  ] as const)('%s', (code, kickoff, seconds, theTry, afterSafety, afterKickoff, afterPunt) => {
    expect(nextPlay(undefined, code)).toMatchObject({ spot: kickoff, clockSeconds: seconds });
    expect(nextPlay(touchdown, code)).toMatchObject({ kind: 'try', spot: theTry });
    expect(nextPlay(safety, code)).toMatchObject({ kind: 'free kick', spot: afterSafety });
    expect(nextPlay({ kind: 'try', spot: 97, score: 'try good' }, code)).toMatchObject({ spot: kickoff });
    expect(nextPlay(touchback('free kick'), code)).toMatchObject({ down: 1, spot: afterKickoff });
    expect(nextPlay(touchback('punt'), code)).toMatchObject({ down: 1, spot: afterPunt });
  });
});

describe('official signals by their numbers, the same in both books', () => {
  const numbers: readonly (readonly [Signal, number, string])[] = [
    ['ready for play', 1, `${ncaa} 3-2-4-b-3, [S1] (read)`],
    ['start the clock', 2, `${ncaa} 3-2-1-b, [S2] (read)`],
    ['stop the clock', 3, `${ncaa} 3-3-1 and the plates of signals (from memory)`],
    ['touchdown or field goal', 5, 'plates of signals of both books (from memory)'],
    ['safety', 6, 'plates of signals of both books (from memory)'],
    ['dead ball', 7, `${ncaa} 6-1-2-a, penalty: dead ball [S7] (read)`],
    ['first down', 8, 'plates of signals of both books (from memory)'],
    [
      'no score, declined or offsetting',
      10,
      `${ncaa} 3-1-1-d, [S10] of the same plate: deferral, declined, no play, no score (read; plate from memory)`,
    ],
    ['end of period', 14, `${ncaa} 3-2-1-a: the period ended [S14] (read)`],
  ];

  it.each(numbers)('%s is signal %i: %s', (signal, number) => {
    expect(signals[signal]).toBe(number);
  });

  it('every signal that duties speak of is held to its number', () => {
    expect(numbers.map(([signal]) => signal).sort()).toEqual(Object.keys(signals).sort());
  });
});

describe('the play clock', () => {
  const run = { ...ordinary, fouls: [], kind: 'run', spot: 40 } satisfies Play;

  it(`runs 40 seconds from the dead ball, 25 after an administrative stop: ${ncaa} 3-2-4-b and -c (read); ${nfhs} 3-6-1 (from memory)`, () => {
    expect(playClockSeconds).toEqual({ ordinary: 40, administrative: 25 });
    expect(playClockAfter(run)).toBe(40);
  });

  it.each([
    ['a penalty', { fouls: [{ foul: 'holding', by: 'offense' }] }],
    ['a charged team time-out', { timeout: 'team' }],
    ['a score', { score: 'touchdown' }],
    ['a change of possession', { turnover: 'interception' }],
    ['a measurement', { measured: true }],
    ['an injured player', { injury: true }],
  ] as const)(`is 25 after %s: ${ncaa} 3-2-4-c, ${nfhs} 3-6-1 (list from memory)`, (_what, facts) => {
    expect(playClockAfter({ ...run, ...facts } as Play)).toBe(25);
  });

  it('is 40 after an ordinary out-of-bounds play or incomplete pass: they need no administration', () => {
    expect(playClockAfter({ ...run, outOfBounds: true, clockStoppedFor: 'out of bounds' })).toBe(40);
    expect(playClockAfter({ ...run, kind: 'pass', passResult: 'incomplete' })).toBe(40);
  });
});

describe('enforcement', () => {
  it(`ineligible receiver downfield costs 5 yards: ${ncaa} 7-3-10, ${nfhs} 7-5-12 (numbers from memory)`, () => {
    expect(penaltyYards['ineligible receiver downfield']).toBe(5);
  });

  it(`a horse collar costs 15 yards: ${ncaa} 9-1-15, ${nfhs} 9-4-3 (numbers from memory)`, () => {
    expect(penaltyYards['horse collar']).toBe(15);
  });
});
