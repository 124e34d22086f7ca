import jstat from 'jstat';
import { describe, expect, it } from 'vitest';
import { expectedErrors, type PlannedGrade } from '../../server/planning/expected-errors.ts';
import { seeded } from '../bench/planning-instances.ts';

/** jStat's linear algebra, which its types leave out. */
const linear = jstat.jStat as unknown as { inv(matrix: number[][]): number[][] };
const spread = {
  official: 3,
  observer: 2,
  game: 1.5,
  officialInGame: 1.8,
  observerInPosition: 1.2,
  residual: 4,
};

/**
 * The prediction error variance by Henderson's mixed-model equations written out in full and inverted by jStat:
 * C = [X'WX X'WZ; Z'WX Z'WZ + G⁻¹σ²], PEV = diag(C⁻¹)σ² (Henderson 1975), W the shares watched.
 */
function bySquareInverse(grades: readonly PlannedGrade[]): Map<string, number> {
  const evening = ({ officialId, gameId }: PlannedGrade) => `${officialId} in ${gameId}`;
  const inPosition = ({ observerId, position }: PlannedGrade) => `${observerId} on ${position}`;
  const names = (of: (grade: PlannedGrade) => string) => [...new Set(grades.map(of))];
  const blocks = [
    { names: names(({ position }) => position), of: (g: PlannedGrade) => g.position, variance: Infinity },
    {
      names: names(({ officialId }) => officialId),
      of: (g: PlannedGrade) => g.officialId,
      variance: spread.official ** 2,
    },
    {
      names: names(({ observerId }) => observerId),
      of: (g: PlannedGrade) => g.observerId,
      variance: spread.observer ** 2,
    },
    { names: names(({ gameId }) => gameId), of: (g: PlannedGrade) => g.gameId, variance: spread.game ** 2 },
    { names: names(evening), of: evening, variance: spread.officialInGame ** 2 },
    { names: names(inPosition), of: inPosition, variance: spread.observerInPosition ** 2 },
  ];
  const size = blocks.reduce((sum, block) => sum + block.names.length, 0);
  const matrix = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  let start = 0;
  const places: ((grade: PlannedGrade) => number)[] = [];
  for (const block of blocks) {
    const from = start;
    places.push((grade) => from + block.names.indexOf(block.of(grade)));
    for (let n = 0; n < block.names.length; n += 1)
      matrix[from + n]![from + n]! += block.variance === Infinity ? 0 : spread.residual ** 2 / block.variance;
    start += block.names.length;
  }
  for (const grade of grades) {
    const at = places.map((place) => place(grade));
    for (const a of at) for (const b of at) matrix[a]![b]! += grade.watchedShare ?? 1;
  }
  const inverse = linear.inv(matrix);
  const first = blocks[0]!.names.length;
  return new Map(
    blocks[1]!.names.map((name, n) => [
      name,
      Math.sqrt(inverse[first + n]![first + n]! * spread.residual ** 2),
    ]),
  );
}

describe('expected standard errors', () => {
  it('equal the mixed-model equations inverted in full, on random designs', () => {
    for (let seed = 1; seed <= 20; seed += 1) {
      const random = seeded(seed);
      const pick = (n: number) => Math.floor(random() * n);
      const grades: PlannedGrade[] = [];
      for (let game = 0; game < 4 + pick(8); game += 1) {
        const crew = pick(3);
        for (let watcher = 0; watcher < 1 + pick(2); watcher += 1) {
          const observerId = `b${pick(4)}`;
          for (const position of ['referee', 'umpire', 'line judge'])
            grades.push({
              officialId: random() < 0.1 ? `substitute ${pick(2)}` : `${position} ${crew}`,
              position,
              observerId,
              gameId: `g${game}`,
              ...(random() < 0.4 ? { watchedShare: 0.05 + 0.95 * random() } : {}),
            });
        }
      }
      const expected = bySquareInverse(grades);
      const found = expectedErrors(grades, spread);
      expect(found.size).toBe(expected.size);
      for (const [official, error] of expected) expect(found.get(official)).toBeCloseTo(error, 8);
    }
  });

  it('never grow when another game is planned', () => {
    const random = seeded(5);
    const grades: PlannedGrade[] = [];
    let before = new Map<string, number>();
    for (let game = 0; game < 15; game += 1) {
      for (const n of [1, 2, 3])
        grades.push({
          officialId: `o${n + 3 * Math.floor(random() * 2)}`,
          position: 'umpire',
          observerId: `b${Math.floor(random() * 3)}`,
          gameId: `g${game}`,
        });
      const now = expectedErrors(grades, spread);
      for (const [official, error] of before) expect(now.get(official)).toBeLessThanOrEqual(error + 1e-9);
      before = now;
    }
  });

  it('fall less by a second observer of one game than by a second game', () => {
    const grade = (officialId: string, observerId: string, gameId: string): PlannedGrade => ({
      officialId,
      position: 'umpire',
      observerId,
      gameId,
    });
    const others = ['p', 'q', 'r'].flatMap((official) =>
      ['b', 'c', 'd'].map((observer, i) => grade(official, observer, `${official} ${i}`)),
    );
    const errorWith = (...own: PlannedGrade[]) => expectedErrors([...others, ...own], spread).get('o')!;
    const once = errorWith(grade('o', 'b', 'g'));
    const twice = errorWith(grade('o', 'b', 'g'), grade('o', 'c', 'g'));
    const twoGames = errorWith(grade('o', 'b', 'g'), grade('o', 'c', 'h'));
    expect(twice).toBeLessThan(once - 0.02);
    expect(twoGames).toBeLessThan(twice - 0.02);
  });

  it('are defined at the edges', () => {
    expect(expectedErrors([], spread).size).toBe(0);
    const one = [{ officialId: 'o', position: 'umpire', observerId: 'b', gameId: 'g' }];
    // Alone in the position, nothing tells the official from the position's mean.
    expect(expectedErrors(one, spread).get('o')).toBeCloseTo(spread.official, 6);
    for (const zero of ['observer', 'game', 'officialInGame', 'observerInPosition', 'residual'] as const)
      expect(Number.isFinite(expectedErrors(one, { ...spread, [zero]: 0 }).get('o'))).toBe(true);
    expect(expectedErrors(one, { ...spread, official: 0 }).size).toBe(0);
  });
});
