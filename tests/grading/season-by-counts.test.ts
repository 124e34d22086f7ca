import { describe, expect, test } from 'vitest';
import { countRows } from '../../server/grading/count-model/count-rows.ts';
import { gradeSeasonByCounts } from '../../server/grading/count-model/season-by-counts.ts';
import type { WeightedCount } from '../../server/grading/game-grade.ts';
import type { SeasonStandings } from '../../server/grading/season-model.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';

const settings = { minimumGames: 1, minimumOpportunities: 1, top: 1, seed: 3 };

/** Misses of two duties, weights 4 and 1, 30 and 120 chances of each report. */
const counted = (dear: number, cheap: number): WeightedCount[] => [
  { weight: 4, opportunities: 30, met: 30 - dear },
  { weight: 1, opportunities: 120, met: 120 - cheap },
];

/** Four crews of two positions, six games each, three observers in turn; `of` gives misses by official and game. */
function season(of: (official: string, at: number) => [number, number], crews = 4, games = 6): GradedGame[] {
  return Array.from({ length: crews * games }, (_, g) =>
    ['referee', 'umpire'].map((position) => {
      const official = `${position} ${g % crews}`;
      return {
        official,
        position,
        game: `game ${g}`,
        observer: `observer ${(g + Math.floor(g / crews)) % 3}`,
        counts: counted(...of(official, g)),
      };
    }),
  ).flat();
}

/** Misses that differ a little from game to game, the same each time. */
const usual = (g: number): [number, number] => [1 + (g % 3 === 0 ? 1 : 0), 3 + ((g * 5) % 4)];

function expectSound({ standings, observers }: SeasonStandings): void {
  for (const { adjusted } of standings) {
    if (!adjusted) continue;
    for (const value of [...Object.values(adjusted.parts), adjusted.standardError, adjusted.reliability]) {
      expect(value).toSatisfy(Number.isFinite);
    }
    expect(adjusted.low).toBeGreaterThanOrEqual(0);
    expect(adjusted.high).toBeLessThanOrEqual(100);
    expect(adjusted.grade - adjusted.low).toBeGreaterThan(1e-6);
    expect(adjusted.high - adjusted.grade).toBeGreaterThan(1e-6);
  }
  for (const { effect, low, high } of observers.flatMap((one) => [one, ...one.positions])) {
    if (effect === null) continue;
    // Nothing but rounding apart from 0 would be told as a leaning.
    expect(low > 0 && low < 1e-9).toBe(false);
    expect(high < 0 && high > -1e-9).toBe(false);
    expect(low).toBeLessThanOrEqual(effect);
    expect(high).toBeGreaterThanOrEqual(effect);
  }
}

const lineOf = ({ standings }: SeasonStandings, official: string) =>
  standings.find((standing) => standing.official === official)!;

describe('a season by counts', () => {
  test('what has no variance is a spread of exactly 0', () => {
    const { spread } = gradeSeasonByCounts(
      season((_, g) => usual(g)),
      settings,
    );
    expect(spread!.observerInPosition).toBe(0);
    for (const value of Object.values(spread!)) expect(value === 0 || value > 1e-6).toBe(true);
  });

  test('raw and parts add up to the grade, and a higher grade has a higher place', () => {
    const result = gradeSeasonByCounts(
      season((official, g) => {
        const [dear, cheap] = usual(g);
        return official.endsWith('2') ? [dear + 3, cheap + 8] : [dear, cheap];
      }),
      settings,
    );
    expectSound(result);
    for (const { adjusted, season: own } of result.standings) {
      const { observers, games, caution } = adjusted!.parts;
      if (own.pooled.grade !== null) {
        expect(own.pooled.grade + observers + games + caution).toBeCloseTo(adjusted!.grade, 9);
      }
    }
    for (const position of ['referee', 'umpire']) {
      const lines = result.standings.filter((standing) => standing.position === position);
      const byPlace = lines.toSorted((a, b) => a.rank!.place - b.rank!.place);
      const grades = byPlace.map(({ adjusted }) => adjusted!.grade);
      expect(grades).toEqual(grades.toSorted((a, b) => b - a));
      expect(byPlace.at(-1)!.official).toBe(`${position} 2`);
    }
  });

  test('as many misses of a dear duty cost more places and points than of a cheap one', () => {
    const result = gradeSeasonByCounts(
      season((official, g) => {
        const [dear, cheap] = usual(g);
        if (official.endsWith('0')) return [dear + 3, cheap];
        if (official.endsWith('1')) return [dear, cheap + 3];
        return [dear, cheap];
      }),
      settings,
    );
    for (const position of ['referee', 'umpire']) {
      const [dear, cheap] = [lineOf(result, `${position} 0`), lineOf(result, `${position} 1`)];
      expect(dear.adjusted!.grade).toBeLessThan(cheap.adjusted!.grade - 1);
      expect(dear.rank!.place).toBe(4);
    }
  });

  test('an official without a miss is below 100, and uncertain', () => {
    const result = gradeSeasonByCounts(
      season((official, g) => (official === 'referee 3' ? [0, 0] : usual(g))),
      settings,
    );
    expectSound(result);
    const { adjusted } = lineOf(result, 'referee 3');
    expect(adjusted!.grade).toBeLessThan(100);
    expect(adjusted!.high - adjusted!.low).toBeGreaterThan(0.05);
    expect(lineOf(result, 'referee 3').rank!.place).toBe(1);
  });

  test.each<[string, GradedGame[]]>([
    [
      'a position without a miss',
      season((official, g) => (official.startsWith('umpire') ? [0, 0] : usual(g))),
    ],
    ['a duty without a miss', season((_, g) => [0, usual(g)[1]])],
    ['everything missed by one', season((official, g) => (official === 'umpire 1' ? [30, 120] : usual(g)))],
    [
      'one observer for a position',
      season((_, g) => usual(g)).map((row) =>
        row.position === 'umpire' ? { ...row, observer: 'the umpires only' } : row,
      ),
    ],
    [
      'one double game',
      [
        ...season((_, g) => usual(g)),
        ...season((_, g) => usual(g + 1))
          .slice(0, 2)
          .map((row) => ({ ...row, observer: 'a second observer' })),
      ],
    ],
    ['one game each', season((_, g) => usual(g), 4, 1)],
    ['one miss in all', season((official, g) => (official === 'referee 0' && g === 0 ? [1, 0] : [0, 0]))],
    ['equal games throughout', season(() => [1, 4])],
    ['one report of one official', season((_, g) => usual(g), 1, 1).slice(0, 1)],
  ])('%s: every figure is finite, no interval has width 0', (_, rows) => {
    const result = gradeSeasonByCounts(rows, settings);
    expectSound(result);
    expect(result.standings.every(({ adjusted }) => adjusted !== null)).toBe(true);
  });

  test('notes are for a coordinator: none names a part of the model only', () => {
    const one = gradeSeasonByCounts(
      season((_, g) => usual(g), 1, 6).filter(({ position }) => position === 'referee'),
      settings,
    );
    expect(one.notes.join()).not.toMatch(/position in dear|in dear or in other/);
    expect(one.notes).toContain(
      'official: only one, so nothing to compare it with; nothing is adjusted for it',
    );
    const equal = gradeSeasonByCounts(
      season(() => [1, 4]),
      settings,
    );
    expect(equal.notes).toEqual([
      'as far as can be told, officials of a position differ by no more than chance over all duties together',
      'as far as can be told, all observers are as strict as each other over all positions',
      'as far as can be told, no game was harder for everyone than another',
      'as far as can be told, officials differ from evening to evening by no more than chance',
      'as far as can be told, each observer is as strict in one position as in another',
      'as far as can be told, each official is as good in dear duties as in the others',
    ]);
  });

  test('observers who are worlds apart have finite severity', () => {
    type Counts = [weight: number, opportunities: number, met: number, cost?: number];
    const seen = (official: string, position: string, at: number, observer: string, ...counts: Counts[]) => ({
      official,
      position,
      game: `game ${at}`,
      observer,
      counts: counts.map(([weight, opportunities, met, cost]) => ({
        weight,
        opportunities,
        met,
        ...(cost === undefined ? {} : { cost }),
      })),
    });
    // One marks as missed what the other marks as done, and the other way round in the next position.
    const result = gradeSeasonByCounts(
      [
        seen('Ash', 'referee', 1, 'Y', [1, 1, 0]),
        seen('Ash', 'referee', 1, 'X', [1, 20, 0], [1, 20, 20]),
        seen('Ash', 'referee', 0, 'X', [2, 150, 0, 0.5], [5, 3, 3]),
        seen('Birch', 'umpire', 0, 'Y', [1, 20, 20]),
        seen('Birch', 'referee', 0, 'Y', [0.5, 20, 20]),
        seen('Birch', 'referee', 1, 'X', [2, 1, 1]),
        seen('Ash', 'umpire', 1, 'X', [2, 150, 0]),
        seen('Ash', 'umpire', 0, 'Y', [2, 150, 150]),
        seen('Ash', 'referee', 0, 'Y', [0.5, 20, 0], [1, 1, 1]),
        seen('Birch', 'referee', 0, 'X', [1, 3, 3]),
        seen('Birch', 'umpire', 1, 'X', [2, 1, 1], [1, 3, 3]),
      ],
      settings,
    );
    expect(result.observers).toHaveLength(2);
    for (const { effect, low, high } of result.observers.flatMap((one) => [one, ...one.positions])) {
      for (const value of [effect, low, high]) expect(value).toSatisfy(Number.isFinite);
    }
  });

  test('no chance of one official gives no grade and a reason; the others have theirs', () => {
    const rows = season((_, g) => usual(g)).map((row) =>
      row.official === 'referee 1'
        ? { ...row, counts: row.counts.map(({ weight }) => ({ weight, opportunities: 0, met: 0 })) }
        : row,
    );
    const result = gradeSeasonByCounts(rows, settings);
    expectSound(result);
    const line = lineOf(result, 'referee 1');
    expect(line.adjusted).toBeNull();
    expect(line.unrankedReason).toBe('no grade: no counted opportunity');
    expect(lineOf(result, 'referee 0').adjusted).not.toBeNull();
  });

  test.each([
    [
      'no miss at all',
      season(() => [0, 0]),
      'no report holds a miss that counts, so nothing tells officials apart',
    ],
    [
      'misses of duties that weigh nothing',
      season(() => [0, 0]).map((row) => ({
        ...row,
        counts: [...row.counts, { weight: 0, opportunities: 9, met: 4 }],
      })),
      'no report holds a miss that counts, so nothing tells officials apart',
    ],
    [
      'every chance missed',
      season(() => [30, 120]),
      'every chance was missed, so nothing tells officials apart',
    ],
    ['no report', [], 'no report has a counted opportunity'],
  ])('%s is said', (_, rows, reason) => {
    const result = gradeSeasonByCounts(rows, settings);
    expect(result.notes).toEqual([`no adjusted grades: ${reason}`]);
    expect(result.standings.every(({ adjusted, unrankedReason }) => !adjusted && unrankedReason)).toBe(true);
  });
});

describe('rows of the count model', () => {
  test('the dear half is that which carries half of what was lost, and trials are of like weight', () => {
    const rows = countRows([
      {
        official: 'a',
        position: 'referee',
        game: 'g',
        observer: 'b',
        counts: [
          { weight: 1, opportunities: 100, met: 92 },
          { weight: 2, opportunities: 50, met: 49 },
          { weight: 5, opportunities: 20, met: 18 },
        ],
      },
    ]);
    // Lost: 8 of weight 1, then 2 of weight 2, then 10 of weight 5: half of 20 lies below the last.
    const [dear, other] = [
      rows.find((row) => row.class === 'dear')!,
      rows.find((row) => row.class === 'other')!,
    ];
    expect(dear.weight).toBe(100);
    expect(dear.lost).toBeCloseTo(0.1, 12);
    expect(dear.trials).toBeCloseTo(20, 12);
    // 200 chances' weight; Σw²x/Σwx = (8 + 4)/10.
    expect(other.weight).toBe(200);
    expect(other.lost).toBeCloseTo(0.05, 12);
    expect(other.trials).toBeCloseTo(200 / 1.2, 9);
  });
});
