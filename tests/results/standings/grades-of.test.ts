import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { gradesOf } from '../../../server/results/standings/grades-of.ts';
import type { SeasonCount } from '../../../server/results/standings/season-counts.ts';

type Part = Pick<SeasonCount, 'gradedAs' | 'weight' | 'opportunities' | 'notMet'> & { cost?: number };

const count = ({ cost, ...part }: Part, at = 0): SeasonCount => ({
  personId: 'official',
  position: 'line judge',
  observerIds: ['observer'],
  gameId: 'game',
  week: 1,
  crewId: null,
  dutyKey: `duty-${at}`,
  category: part.gradedAs === 'call' ? 'calls' : 'spotting',
  notCounted: 0,
  differed: 0,
  model: 0,
  ...part,
  cost: cost ?? part.notMet,
});

const anyPart = fc
  .record({
    gradedAs: fc.constantFrom('call' as const, 'mechanics' as const),
    weight: fc.double({ min: 0.1, max: 10, noNaN: true }),
    opportunities: fc.nat(60),
    part: fc.double({ min: 0, max: 1, noNaN: true }),
    factor: fc.double({ min: 0.1, max: 20, noNaN: true }),
  })
  .map(({ part, factor, ...row }) => {
    const notMet = Math.floor(part * row.opportunities);
    return { ...row, notMet, cost: factor * notMet };
  });

describe('calls and mechanics beside the whole', () => {
  test('a game worked out by hand', () => {
    // Mechanics: 40 chances of weight 1, two missed: 38 / 40 = 95. Calls: 10 of weight 3 and 5 of weight 2, that is 40;
    // one of weight 3 was wrong and cost possession (2.5 times): 40 − 7.5 = 32.5, of 40 81.25. The whole: 80 − 2 − 7.5.
    // Common practice, no source.
    const { whole, calls, mechanics } = gradesOf([
      count({ gradedAs: 'mechanics', weight: 1, opportunities: 40, notMet: 2 }),
      count({ gradedAs: 'call', weight: 3, opportunities: 10, notMet: 1, cost: 2.5 }, 1),
      count({ gradedAs: 'call', weight: 2, opportunities: 5, notMet: 0 }, 2),
    ]);
    expect(mechanics.grade).toBeCloseTo(95, 12);
    expect(calls.grade).toBeCloseTo(81.25, 12);
    expect(whole.grade).toBeCloseTo(100 - 9.5 / 0.8, 12);
    expect(calls).toMatchObject({ opportunities: 15, met: 14, weight: 40 });
  });

  test('a kind without a chance has no grade and says so', () => {
    const rows = [count({ gradedAs: 'mechanics', weight: 1, opportunities: 40, notMet: 2 })];
    expect(gradesOf(rows).calls).toMatchObject({ grade: null, reason: 'no call to grade yet' });
    expect(gradesOf(rows).whole.grade).toBe(gradesOf(rows).mechanics.grade);
    const unseen = [
      { ...count({ gradedAs: 'call', weight: 1, opportunities: 3, notMet: 0 }), notCounted: 3 },
    ];
    expect(gradesOf(unseen).calls).toMatchObject({ grade: null, opportunities: 0 });
    expect(gradesOf([]).mechanics).toMatchObject({ grade: null, reason: 'no mechanics to grade yet' });
  });

  test('the whole lies between the two, and is their mean by weight where nothing was lost beyond the whole', () => {
    fc.assert(
      fc.property(fc.array(anyPart, { maxLength: 8 }), (parts) => {
        const { whole, calls, mechanics } = gradesOf(parts.map(count));
        const both = [calls, mechanics].flatMap((one) => (one.grade === null ? [] : [one]));
        if (whole.grade === null) {
          expect(both).toEqual([]);
          return;
        }
        const grades = both.map((one) => one.grade);
        expect(whole.grade).toBeGreaterThanOrEqual(Math.min(...grades) - 1e-9);
        expect(whole.grade).toBeLessThanOrEqual(Math.max(...grades) + 1e-9);
        if (grades.includes(0)) return;
        const weight = both.reduce((sum, one) => sum + one.weight, 0);
        const mean = both.reduce((sum, one) => sum + (one.weight / weight) * one.grade, 0);
        expect(whole.grade).toBeCloseTo(mean, 9);
      }),
    );
  });
});
