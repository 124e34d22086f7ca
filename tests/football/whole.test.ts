import { describe, expect, it } from 'vitest';
import { codeFacts } from '../../server/football/codes.ts';
import type { Play } from '../../server/football/play.ts';
import { pointsIn } from '../../server/football/whole/points.ts';
import { timeWithoutPlays } from '../../server/football/whole/time-without-plays.ts';

const play = (facts: Partial<Play>): Play => ({
  kind: 'run',
  spot: 40,
  offense: 'home',
  score: 'none',
  ...facts,
});

describe('the points of a log', () => {
  // Points and who gets them: Rule 8 of the college and the high school rules book, from memory.
  it.each<[string, Partial<Play>, number, number]>([
    ['a run over the goal line', { score: 'touchdown', endSpot: 100 }, 6, 0],
    ['a punt returned', { kind: 'punt', score: 'touchdown', endSpot: 0 }, 0, 6],
    ['a kick recovered in the other end zone', { kind: 'free kick', score: 'touchdown', endSpot: 100 }, 6, 0],
    [
      'an interception returned',
      { kind: 'pass', turnover: 'interception', score: 'touchdown', endSpot: 0 },
      0,
      6,
    ],
    ['a field goal', { kind: 'place kick', score: 'field goal' }, 3, 0],
    ['a safety against the offense', { score: 'safety', endSpot: 0 }, 0, 2],
    ['a try by kick', { kind: 'try', tryBy: 'kick', score: 'try good' }, 1, 0],
    ['a try by pass', { kind: 'try', tryBy: 'pass', score: 'try good' }, 2, 0],
  ])('%s', (_, facts, home, visitor) => {
    const { least, most } = pointsIn([play(facts)]);
    expect(least).toEqual({ home, visitor });
    expect(most).toEqual({ home, visitor });
    const mirrored = pointsIn([play({ ...facts, offense: 'visitor' })]);
    expect(mirrored.most).toEqual({ home: visitor, visitor: home });
  });

  it('leaves open what the facts leave open', () => {
    const log = [
      play({ kind: 'free kick', score: 'touchdown' }),
      play({ kind: 'try', score: 'try good' }),
      play({ score: undefined }),
    ];
    expect(pointsIn(log)).toEqual({
      least: { home: 1, visitor: 0 },
      most: { home: 8, visitor: 6 },
      scoring: [0, 1],
      open: [0, 1],
      unsaid: 1,
    });
  });
});

describe('time without plays', () => {
  const whole = Array.from({ length: 4 * 20 }, (_, at) =>
    play({ quarter: 1 + Math.floor(at / 20), clockSeconds: 900 - (at % 20) * 45 }),
  );
  const told = (log: Play[]) => timeWithoutPlays(log, codeFacts.college).map(({ says }) => says);

  it('tells nothing of a log without holes', () => {
    expect(told(whole)).toEqual([]);
    expect(told([])).toEqual([]);
  });

  it('tells a missing quarter, a hole, a late start and an early end, each with its play', () => {
    expect(told(whole.slice(0, 60))).toEqual(['No play of the 4th quarter is logged.']);
    expect(told(whole.slice(5))).toEqual(['The 1st quarter begins with 11:15 left.']);
    expect(told(whole.slice(0, 75))).toEqual(['The 4th quarter ends with 4:30 left.']);
    const holed = [...whole.slice(0, 24), ...whole.slice(28)];
    expect(timeWithoutPlays(holed, codeFacts.college)).toEqual([
      { what: 'time', says: 'In the 2nd quarter nothing is logged between 12:45 and 9:00.', at: 24 },
    ]);
  });

  it('lets plays without a clock account for a usual play each, and never reads an estimate', () => {
    const bare = whole.map((one, at) =>
      at >= 24 && at < 28 ? { ...one, clockSeconds: undefined, clockAbout: 30 } : one,
    );
    expect(told(bare)).toEqual([]);
    expect(told(whole.map(({ clockSeconds: _, ...one }) => one))).toEqual([]);
    expect(told([play({})])).toEqual(['No play says in which quarter it was.']);
  });
});
