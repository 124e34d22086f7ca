import { describe, expect, it } from 'vitest';
import { factsByWorth } from '../../server/duties/fact-worth.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { clockAtMost, estimateMayBeOffBy } from '../../server/football/about-the-clock.ts';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import { nextPlay } from '../../server/football/next-play.ts';
import { nothingElseHappened } from '../../server/football/nothing-unusual.ts';
import type { Play } from '../../server/football/play.ts';
import { playInWords } from '../../server/football/play-in-words.ts';
import { situationOf } from '../../server/football/situations/index.ts';

const down: Play = {
  kind: 'run',
  spot: 40,
  quarter: 2,
  down: 1,
  distance: 10,
  endSpot: 44,
  outOfBounds: false,
};
const lateInTheHalf = situationOf('late-in-the-half');

describe('a clock that nobody read', () => {
  it('decides what lies far from it, and leaves open what lies near', () => {
    const late = (clockAbout: number) => lateInTheHalf.decide({ ...down, clockAbout });
    expect(late(120 + estimateMayBeOffBy)).toBe(false);
    expect(late(120 + estimateMayBeOffBy - 1)).toBe('unknown');
    expect(late(120)).toBe('unknown');
    expect(late(120 - estimateMayBeOffBy)).toBe(true);
    expect(clockAtMost({ ...down, clockAbout: 900, clockSeconds: 119 }, 120)).toBe(true);
    expect(clockAtMost(down, 120)).toBe('unknown');
  });

  it('is asked for near two minutes of a half, and only there', () => {
    const rubric = compileRubric(startingRubric);
    const asked = (play: Play) =>
      factsByWorth(nothingElseHappened(play), fullCrew(8), rubric).map(({ fact }) => fact);
    expect(asked({ ...down, clockAbout: 150 })).toContain('clockSeconds');
    expect(asked({ ...down, clockAbout: 150 })).not.toContain('clockAbout');
    expect(asked({ ...down, clockAbout: 600 })).not.toContain('clockSeconds');
    expect(asked({ ...down, clockAbout: 150, quarter: 1 })).not.toContain('clockSeconds');
    expect(asked({ ...down, clockAbout: 150, clockSeconds: 118 })).not.toContain('clockSeconds');
  });

  it('contradicts nothing, as if nobody had said it', () => {
    const log = [
      { ...down, clockSeconds: 300 },
      { ...down, spot: 44, down: 2, distance: 6, clockAbout: 800 },
    ].map((play, at) => ({ number: at + 1, play }));
    expect(contradictionsIn(log, [])).toEqual([]);
  });

  it('goes down by a usual play until one is read, and is said to be about', () => {
    const second = nextPlay({ ...down, clockSeconds: 300 });
    expect(second).toMatchObject({ clockAbout: 265 });
    expect(second.clockSeconds).toBeUndefined();
    expect(nextPlay({ ...second, endSpot: 50 }).clockAbout).toBe(230);
    expect(nextPlay({ ...second, endSpot: 50, clockSeconds: 290 }).clockAbout).toBe(255);
    expect(nextPlay({ ...down, clockAbout: 3 }).clockAbout).toBe(0);
    expect(playInWords(second)).toContain('Q2 about 4:25');
    expect(playInWords({ ...second, clockSeconds: 290 })).toContain('Q2 4:50');
  });
});
