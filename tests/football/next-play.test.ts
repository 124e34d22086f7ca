import { describe, expect, it } from 'vitest';
import { nextPlay } from '../../server/football/next-play.ts';
import type { Play } from '../../server/football/play.ts';

const when = { quarter: 2, clockSeconds: 300 };
const run: Play = { ...when, kind: 'run', spot: 40, down: 1, distance: 10, offense: 'home' };
const down = { quarter: 2, kind: 'run', spot: 40, down: 1, distance: 10, offense: 'home' } as const;

describe('the play that most likely follows', () => {
  it('carries quarter and team on and works out down and distance', () => {
    expect(nextPlay({ ...run, endSpot: 44 })).toEqual({
      ...down,
      clockAbout: 265,
      spot: 44,
      down: 2,
      distance: 6,
    });
    expect(nextPlay({ ...run, endSpot: 51 })).toEqual({ ...down, clockAbout: 265, spot: 51 });
    expect(nextPlay({ ...run, endSpot: 97 })).toEqual({ ...down, clockAbout: 265, spot: 97, distance: 3 });
    expect(nextPlay({ ...run, kind: 'pass', passResult: 'incomplete' })).toEqual({
      ...down,
      clockAbout: 293,
      down: 2,
    });
    expect(nextPlay({ ...run, down: 3, endSpot: 41 })).toMatchObject({ kind: 'punt', down: 4, distance: 9 });
  });

  it('gives the ball to the other team where the offense lost it', () => {
    const theirs = { kind: 'run', offense: 'visitor', down: 1, distance: 10 };
    expect(nextPlay({ ...run, down: 4, endSpot: 45 })).toMatchObject({ ...theirs, spot: 55 });
    expect(nextPlay({ ...run, turnover: 'fumble', endSpot: 30 })).toMatchObject({ ...theirs, spot: 70 });
    expect(nextPlay({ ...run, kind: 'punt', kickResult: 'downed', endSpot: 90 })).toMatchObject({
      ...theirs,
      spot: 10,
    });
    expect(nextPlay({ ...run, kind: 'pass', turnover: 'interception', endSpot: 100 })).toMatchObject({
      ...theirs,
      spot: 20,
    });
  });

  it('lets the team that scored try, and the team that was scored upon kick after a safety', () => {
    expect(nextPlay({ ...run, score: 'touchdown', endSpot: 100 })).toEqual({
      quarter: 2,
      clockAbout: 293,
      kind: 'try',
      spot: 97,
      offense: 'home',
    });
    const returned: Play = { ...run, kind: 'pass', turnover: 'interception', score: 'touchdown', endSpot: 0 };
    expect(nextPlay(returned)).toMatchObject({ kind: 'try', offense: 'visitor' });
    expect(nextPlay({ ...run, score: 'safety', endSpot: 0 })).toMatchObject({
      kind: 'free kick',
      spot: 20,
      offense: 'home',
    });
  });

  // NCAA Football Rules 8-6-1 and 6-1-1, NFHS Football Rules 8-5-3 and 6-1-1: from memory, check the current edition.
  it.each([
    ['college', 35, 900, 25, 20, 75],
    ['high school', 40, 720, 20, 20, 90],
  ] as const)('follows the %s code', (code, kickoff, seconds, afterKickoff, afterPunt, overtime) => {
    expect(nextPlay(undefined, code)).toEqual({
      kind: 'free kick',
      spot: kickoff,
      quarter: 1,
      clockSeconds: seconds,
    });
    expect(nextPlay({ ...when, kind: 'try', spot: 97 }, code)).toMatchObject({
      kind: 'free kick',
      spot: kickoff,
    });
    const touchback = { kickResult: 'touchback', endSpot: 100 } as const;
    expect(nextPlay({ kind: 'free kick', spot: 35, ...touchback }, code).spot).toBe(afterKickoff);
    expect(nextPlay({ kind: 'punt', spot: 50, ...touchback }, code).spot).toBe(afterPunt);
    const inOvertime: Play = { kind: 'try', spot: 97, quarter: 5, offense: 'home' };
    expect(nextPlay(inOvertime, code)).toEqual({
      kind: 'run',
      spot: overtime,
      quarter: 5,
      down: 1,
      distance: 10,
      offense: 'visitor',
    });
  });
});
