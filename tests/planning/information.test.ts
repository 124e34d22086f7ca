import { describe, expect, it } from 'vitest';
import { groupsOf, linksOut } from '../../server/planning/connectedness.ts';
import {
  furtherLook,
  gainOfTime,
  gainOver,
  looksWorth,
  standardErrorAfter,
} from '../../server/planning/information.ts';

const spread = {
  official: 3,
  observer: 2,
  game: 0.6,
  officialInGame: 0.8,
  observerInPosition: 1.2,
  residual: 1.6,
};

describe('information', () => {
  it('gains, all together, what was not known', () => {
    let sum = 0;
    for (let n = 1; n <= 100_000; n += 1) sum += gainOfTime(n, spread);
    expect(sum).toBeGreaterThan(0.99);
    expect(sum).toBeLessThan(1);
  });

  it('starts at the spread of skill and shrinks as the posterior of a normal mean does', () => {
    expect(standardErrorAfter(0, spread)).toBe(3);
    // Posterior variance 1 / (1/9 + n/9) with noise 2² + 0.6² + 0.8² + 1.2² + 1.6² = 9 (normal-normal model, any statistics text).
    for (const n of [1, 2, 5, 50]) expect(standardErrorAfter(n, spread) ** 2).toBeCloseTo(9 / (1 + n), 12);
  });

  it('never gains more from a later game than from an earlier one', () => {
    for (let n = 1; n < 40; n += 1) {
      expect(gainOfTime(n, spread)).toBeGreaterThan(0);
      expect(gainOfTime(n + 1, spread)).toBeLessThan(gainOfTime(n, spread));
    }
  });

  it('counts a second observer of a game for less than a game, by what the two share', () => {
    // Noise 9 with one observer, 8 of it their own: with two 1 + 8/2 = 5, so 9/5 games' worth.
    expect(looksWorth(2, spread)).toBeCloseTo(9 / 5, 12);
    expect(looksWorth(0, spread)).toBe(0);
    expect(looksWorth(1, spread)).toBe(1);
  });

  it('adds up over parts of games', () => {
    expect(gainOver(1, 2, spread)).toBeCloseTo(gainOfTime(2, spread) + gainOfTime(3, spread), 12);
    expect(gainOver(1, 1.8, spread)).toBeCloseTo(gainOfTime(2, spread) + 0.8 * gainOfTime(3, spread), 12);
  });

  it('is defined at the edges: no spread of skill, no noise', () => {
    const noNoise = { observer: 0, game: 0, officialInGame: 0, observerInPosition: 0, residual: 0 };
    expect(gainOfTime(1, { ...spread, official: 0 })).toBe(0);
    expect(furtherLook({ ...noNoise, official: 3 })).toBe(0);
    expect(standardErrorAfter(1, { ...noNoise, official: 3 })).toBe(0);
  });
});

describe('connectedness', () => {
  it('finds the groups that share no observer, largest first', () => {
    const groups = groupsOf(
      ['c1', 'c2', 'c3', 'c4'],
      [
        { observerId: 'b1', crewId: 'c1' },
        { observerId: 'b1', crewId: 'c2' },
        { observerId: 'b2', crewId: 'c3' },
      ],
    );
    expect(groups.map((group) => [...group.crewIds].sort())).toEqual([['c1', 'c2'], ['c3'], ['c4']]);
    const [, third] = groups;
    expect(linksOut(third!, 'b1', 'c3')).toBe(true);
    expect(linksOut(third!, 'b2', 'c1')).toBe(true);
    expect(linksOut(third!, 'b2', 'c3')).toBe(false);
    expect(linksOut(third!, 'b1', 'c1')).toBe(false);
  });
});
