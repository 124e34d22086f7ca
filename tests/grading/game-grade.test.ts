import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type DutyCount, gradeGame, gradeOf } from '../../server/grading/game-grade.ts';
import { gradeSeason } from '../../server/grading/season-grade.ts';

const counts = fc
  .record({
    duty: fc.constantFrom('spot', 'signal', 'goal line', 'dead ball', 'foul'),
    category: fc.constantFrom('spotting', 'signals', 'fouls', undefined),
    weight: fc.oneof(fc.double({ min: 0, max: 10, noNaN: true }), fc.constantFrom(0, 1e-300, 1e300, 1.7e308)),
    opportunities: fc.nat(200),
    part: fc.double({ min: 0, max: 1, noNaN: true }),
    factor: fc.option(fc.double({ min: 0.1, max: 20, noNaN: true }), { nil: undefined }),
  })
  .map(({ part, factor, ...row }): DutyCount => {
    const met = Math.floor(part * row.opportunities);
    return factor === undefined ? { ...row, met } : { ...row, met, cost: factor * (row.opportunities - met) };
  });

function graded(rows: DutyCount[], categoryCap?: number) {
  const grade = gradeGame(rows, { categoryCap });
  if (grade.grade === null) throw new Error(`no grade: ${grade.reason}`);
  return grade;
}

describe('the game grade', () => {
  test('each opportunity counts with the weight of its duty', () => {
    const grade = graded([
      { duty: 'hold the spot', weight: 2, opportunities: 10, met: 9 },
      { duty: 'dead-ball signal', weight: 1, opportunities: 20, met: 16 },
    ]);
    expect(grade.grade).toBeCloseTo(85, 12);
    expect(grade.weight).toBe(40);
    expect(grade.contributions.map((part) => [part.duty, part.pointsLost, part.share])).toEqual([
      ['dead-ball signal', 10, 0.5],
      ['hold the spot', 5, 0.5],
    ]);
  });

  test('without an opportunity there is no grade, and the reason is told', () => {
    expect(gradeGame([])).toMatchObject({ grade: null, reason: 'no counted opportunity' });
    expect(gradeGame([{ duty: 'spot', weight: 1, opportunities: 0, met: 0 }]).grade).toBeNull();
    expect(gradeGame([{ duty: 'spot', weight: 0, opportunities: 9, met: 3 }])).toMatchObject({
      grade: null,
      reason: 'every duty with an opportunity has weight 0',
    });
  });

  test.each([
    [{ weight: -1 }, /weight of duty "spot"/],
    [{ weight: Number.NaN }, /weight of duty "spot"/],
    [{ weight: Number.POSITIVE_INFINITY }, /weight of duty "spot"/],
    [{ opportunities: -2 }, /opportunities of duty "spot"/],
    [{ cost: -1 }, /cost of duty "spot"/],
    [{ cost: Number.NaN }, /cost of duty "spot"/],
    [{ met: 10, cost: 1 }, /cost of duty "spot" must be 0 where everything was met/],
    [{ met: 11 }, /met of duty "spot" must be at most its 10/],
  ])('a count that cannot be is refused by name: %o', (fault, message) => {
    expect(() => gradeGame([{ duty: 'spot', weight: 1, opportunities: 10, met: 5, ...fault }])).toThrow(
      message,
    );
  });

  test('a cap holds a heavy category to its share', () => {
    const rows = [
      { duty: 'a', category: 'spotting', weight: 1, opportunities: 80, met: 40 },
      { duty: 'b', category: 'signals', weight: 1, opportunities: 10, met: 10 },
      { duty: 'c', category: 'fouls', weight: 1, opportunities: 10, met: 10 },
    ];
    expect(graded(rows).grade).toBeCloseTo(60, 12);
    // Spotting at 40 percent of the whole, half of it met.
    expect(graded(rows, 0.4).grade).toBeCloseTo(80, 12);
    // Three categories cannot each weigh 20 percent: the nearest is a third each.
    expect(graded(rows, 0.2).grade).toBeCloseTo(100 - 50 / 3, 12);
    expect(() => gradeGame(rows, { categoryCap: 0 })).toThrow(/categoryCap/);
  });

  test('contributions add up to 100 − grade, and no category outweighs the cap', () => {
    fc.assert(
      fc.property(
        fc.array(counts, { maxLength: 12 }),
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        (rows, cap) => {
          const grade = gradeGame(rows, { categoryCap: cap });
          if (grade.grade === null) {
            expect(grade.reason).not.toBe('');
            return;
          }
          expect(grade.grade).toBeGreaterThanOrEqual(0);
          expect(grade.grade).toBeLessThanOrEqual(100);
          expect(Number.isFinite(grade.weight)).toBe(true);
          const lost = grade.contributions.reduce((sum, part) => sum + part.pointsLost, 0);
          expect(lost).toBeCloseTo(100 - grade.grade, 9);
          expect(grade.contributions.reduce((sum, part) => sum + part.share, 0)).toBeCloseTo(1, 9);
          const shares = new Map<string | undefined, number>();
          for (const part of grade.contributions) {
            shares.set(part.category, (shares.get(part.category) ?? 0) + part.share);
          }
          const uncapped = shares.get(undefined) ?? 0;
          shares.delete(undefined);
          const weighty = [...shares.values()].filter((share) => share > 0).length;
          const limit = uncapped > 1e-6 ? cap : Math.max(cap, 1 / Math.max(1, weighty));
          for (const share of shares.values()) {
            if (uncapped === 0 || uncapped > 1e-6) expect(share).toBeLessThanOrEqual(limit + 1e-9);
          }
        },
      ),
    );
  });

  test('meeting one more never lowers the grade; order and splitting of rows do not matter', () => {
    fc.assert(
      fc.property(fc.array(counts, { minLength: 1, maxLength: 8 }), fc.nat(7), (rows, index) => {
        const before = gradeGame(rows);
        const row = rows[index % rows.length]!;
        if (before.grade === null) return;
        const reversed = graded([...rows].reverse());
        expect(reversed.grade).toBeCloseTo(before.grade, 9);
        const halves = rows.flatMap(({ opportunities, met, cost, ...rest }) => [
          { ...rest, opportunities: met, met },
          { ...rest, opportunities: opportunities - met, met: 0, cost },
        ]);
        expect(graded(halves).grade).toBeCloseTo(before.grade, 9);
        if (row.met === row.opportunities) return;
        const left = row.opportunities - row.met - 1;
        const cost = row.cost && (row.cost * left) / (left + 1);
        const better = rows.map((other) => (other === row ? { ...row, met: row.met + 1, cost } : other));
        expect(graded(better).grade).toBeGreaterThanOrEqual(before.grade - 1e-9);
      }),
    );
  });

  test('duties of like weight and category may be added up first', () => {
    fc.assert(
      fc.property(
        fc.array(counts, { maxLength: 12 }),
        fc.option(fc.double({ min: 0.05, max: 1, noNaN: true }), { nil: undefined }),
        (rows, categoryCap) => {
          const sums = new Map<string, Omit<DutyCount, 'duty'>>();
          for (const { duty, ...row } of rows) {
            const key = `${row.weight} ${row.category}`;
            const sum = sums.get(key) ?? { ...row, opportunities: 0, met: 0, cost: 0 };
            sum.cost! += row.cost ?? row.opportunities - row.met;
            sum.opportunities += row.opportunities;
            sum.met += row.met;
            sums.set(key, sum);
          }
          const { grade, opportunities, met } = gradeGame(rows, { categoryCap });
          const summed = gradeOf([...sums.values()], { categoryCap });
          expect(summed).toMatchObject({ opportunities, met });
          if (grade === null) expect(summed.grade).toBeNull();
          else expect(summed.grade).toBeCloseTo(grade, 11);
        },
      ),
    );
  });
});

describe('what a call cost', () => {
  // Weights times misses over the weight of all chances; common practice, no source.
  const mechanics = { duty: 'hold the spot', weight: 1, opportunities: 60, met: 57 };
  const calls = { duty: 'catch or no catch', weight: 4, opportunities: 10, met: 9 };

  test.each([
    // 60 × 1 + 10 × 4 = 100 is the whole; three spots cost 3, the call 4 times its factor.
    ['not judged', undefined, 93],
    ['nothing', 1, 93],
    ['yards', 1.5, 91],
    ['possession', 2.5, 87],
    ['a score', 4, 81],
    ['less than an ordinary miss', 0.5, 95],
  ])('a call that cost %s', (_, cost, grade) => {
    const found = graded([mechanics, { ...calls, cost }]);
    expect(found.grade).toBeCloseTo(grade, 12);
    // The denominator is the weight of the chances, whatever was lost.
    expect(found.weight).toBe(100);
    expect(found).toMatchObject({ opportunities: 70, met: 66 });
  });

  test('the grade stops at 0, and what each duty took off then adds up to 100', () => {
    const found = graded([
      { duty: 'catch or no catch', weight: 1, opportunities: 2, met: 0, cost: 8 },
      { duty: 'pass interference', weight: 1, opportunities: 2, met: 0 },
    ]);
    // Ten opportunities were lost of four: eight tenths of the 100 by the one, two tenths by the other.
    expect(found.grade).toBe(0);
    expect(found.contributions.map(({ duty, pointsLost }) => [duty, pointsLost])).toEqual([
      ['catch or no catch', 80],
      ['pass interference', 20],
    ]);
  });

  test('one not judged grades to the last digit as before; a dearer one never raises the grade', () => {
    fc.assert(
      fc.property(
        fc.array(counts, { minLength: 1, maxLength: 8 }),
        fc.nat(7),
        fc.double({ min: 0, max: 50, noNaN: true }),
        (rows, index, more) => {
          const plain = rows.map(({ cost, ...row }) => row);
          const judged = plain.map((row) => ({ ...row, cost: row.opportunities - row.met }));
          expect(gradeGame(judged)).toEqual(gradeGame(plain));
          const before = gradeGame(rows);
          const row = rows[index % rows.length]!;
          if (before.grade === null || row.met === row.opportunities) return;
          const cost = (row.cost ?? row.opportunities - row.met) + more;
          const dearer = rows.map((other) => (other === row ? { ...row, cost } : other));
          expect(graded(dearer).grade).toBeLessThanOrEqual(before.grade);
        },
      ),
    );
  });
});

describe('the season grade', () => {
  const game = (name: string, opportunities: number, met: number) => ({
    game: name,
    rows: [{ duty: 'spot', weight: 1, opportunities, met }],
  });

  test('pools opportunities rather than averaging games', () => {
    const season = gradeSeason([game('g1', 90, 90), game('g2', 10, 0)]);
    expect(season.pooled.grade).toBeCloseTo(90, 12);
    expect(season).toMatchObject({ games: 2, opportunities: 100, unrankedReason: null });
  });

  test('below a minimum the official is listed with the reason', () => {
    const eligibility = { minimumGames: 3, minimumOpportunities: 50 };
    expect(gradeSeason([game('g1', 90, 90)], eligibility).unrankedReason).toBe(
      '1 of at least 3 games graded',
    );
    const few = [game('g1', 5, 5), game('g2', 5, 5), game('g3', 5, 5), game('g3', 5, 5)];
    expect(gradeSeason(few, eligibility).unrankedReason).toBe('20 of at least 50 opportunities');
    expect(gradeSeason([game('g1', 0, 0)], eligibility)).toMatchObject({
      games: 0,
      unrankedReason: 'no grade: no counted opportunity',
    });
  });
});
