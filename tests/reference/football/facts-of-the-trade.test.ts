import { describe, expect, it } from 'vitest';
import { startingRubric } from '../../../server/duties/starting-rubric.ts';
import { nothingUnusual } from '../../../server/football/nothing-unusual.ts';
import type { Play } from '../../../server/football/play.ts';
import { playClockAfter, playClockSeconds } from '../../../server/football/play-clock.ts';
import { signals } from '../../../server/football/signals.ts';
import { situationOf } from '../../../server/football/situations/index.ts';
import {
  lineJudgeFreeKickCoverage,
  penaltyYards,
  reverseGoalLineZone,
  wingsHoldUntil,
} from '../../../server/football/yardages.ts';

// Every value here: common practice, no source. The current rules book and officials' manual prevail.
describe('facts of the trade (common practice, no source)', () => {
  it('signal 3 stops the clock, 7 is dead ball, 10 shows offsetting or declined fouls', () => {
    expect(signals['stop the clock']).toBe(3);
    expect(signals['dead ball']).toBe(7);
    expect(signals['no score, declined or offsetting']).toBe(10);
  });

  it('the duties that speak of them use these numbers', () => {
    const expected = (key: string) => startingRubric.find((duty) => duty.key === key)?.expected;
    expect(expected('dead-ball-signal')).toContain('signal 7');
    expect(expected('stop-the-clock')).toContain('signal 3');
    expect(expected('offsetting-signal')).toContain('signal 10');
    expect(expected('helmet-off')).toContain('25');
    expect(expected('hold-at-the-line')).toContain('10 to 12 yards');
    expect(expected('free-kick-sideline')).toContain('15 yards');
  });

  it('the play clock is 40 or 25 seconds', () => {
    expect(playClockSeconds).toEqual({ ordinary: 40, administrative: 25 });
    const play = { ...nothingUnusual('run'), kind: 'run', spot: 40, fouls: [] } satisfies Play;
    expect(playClockAfter(play)).toBe(40);
    expect(playClockAfter({ ...play, score: 'touchdown' })).toBe(25);
    expect(playClockAfter({ ...play, turnover: 'interception' })).toBe(25);
    expect(playClockAfter({ kind: 'run', spot: 40 })).toBe('unknown');
  });

  it("25 after a helmet comes off, with no opponent's foul", () => {
    const play = { ...nothingUnusual('run'), kind: 'run', spot: 40, fouls: [] } satisfies Play;
    expect(playClockAfter({ ...play, helmetOff: true })).toBe(25);
    expect(situationOf('helmet-off').decide({ ...play, helmetOff: true })).toBe(true);
    expect(situationOf('helmet-off').decide({ ...play, helmetOff: true, helmetOffByFoul: true })).toBe(false);
  });

  it('wings hold until receivers are 10 to 12 yards down', () => {
    expect(wingsHoldUntil).toEqual({ from: 10, to: 12 });
  });

  it('the line judge covers about 15 yards on free kicks', () => {
    expect(lineJudgeFreeKickCoverage).toBe(15);
  });

  it("reverse goal line between the offense's goal line and its 5", () => {
    expect(reverseGoalLineZone).toBe(5);
    const { decide } = situationOf('snap-near-own-goal-line');
    expect([1, 5, 6].map((spot) => decide({ kind: 'run', spot }))).toEqual([true, true, false]);
  });

  it('ineligible receiver downfield 5 yards, horse collar 15 yards', () => {
    expect(penaltyYards).toEqual({ 'ineligible receiver downfield': 5, 'horse collar': 15 });
  });
});
