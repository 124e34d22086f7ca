import { comparableGroups } from '../../server/grading/connectedness.ts';
import { fitSeason, gradeCombination, type SeasonSpread } from '../../server/grading/season-fit.ts';
import { type GradedGame, usableRows } from '../../server/grading/season-rows.ts';
import { varianceUncertainty } from '../../server/grading/variance-uncertainty.ts';
import { denseEquations } from './dense-mixed-model.ts';

const factors: [keyof SeasonSpread, (row: GradedGame) => string][] = [
  ['official', (r) => r.official],
  ['observer', (r) => r.observer],
  ['game', (r) => r.game],
  ['officialInGame', (r) => `${r.official} ${r.game}`],
  ['observerInPosition', (r) => `${r.observer} ${r.position}`],
];

const gradeOf = ({ counts }: GradedGame) => counts[0]!.met;
const meanOf = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Places in the solution, each so many times. */
type Sum = [place: number, times: number][];

/**
 * The season model written out in full at given spreads, for rows of 100 chances of weight 1 each; a factor whose spread is
 * 0 is not in it.
 *
 * @param all rows that tell what a position usually loses, where some are left out of `rows`
 */
export function writtenOut(rows: readonly GradedGame[], spread: SeasonSpread, all = rows) {
  const usual = new Map(
    [...new Set(all.map(({ position }) => position))].map((position) => {
      const own = all.filter((r) => r.position === position).map((r) => 100 - gradeOf(r));
      const mean = meanOf(all.map((r) => 100 - gradeOf(r)));
      return [position, (own.reduce((sum, lost) => sum + lost, 0) + mean) / (own.length + 1)] as const;
    }),
  );
  const usualOf = ({ position }: GradedGame) => usual.get(position)!;
  const points = meanOf(all.map(usualOf));
  const keys = factors
    .filter(([name]) => spread[name] > 0)
    .map(([name, of]) => ({
      name,
      levels: [...new Set(rows.map(of))],
      of,
      variance: (spread[name] / points) ** 2,
    }));
  const positions = [...usual.keys()];
  const weights = rows.map((r) => usualOf(r) / points);
  const residual = (spread.residual / points) ** 2;
  const { solution, inverse } = denseEquations(
    {
      response: rows.map((r) => (gradeOf(r) - 100) / usualOf(r)),
      weights,
      fixed: positions.map((position) => rows.map((r) => (r.position === position ? 1 : 0))),
      factors: keys.map(({ of, levels }) => rows.map((r) => levels.indexOf(of(r)))),
    },
    [...keys.map(({ variance }) => variance), residual],
    keys.map(({ levels }) => levels.length),
  );
  const starts = keys.map((_, k) =>
    keys.slice(0, k).reduce((at, { levels }) => at + levels.length, positions.length),
  );
  const place = (name: keyof SeasonSpread, level: string, times: number): Sum => {
    const k = keys.findIndex((key) => key.name === name);
    return k < 0 ? [] : [[starts[k]! + keys[k]!.levels.indexOf(level), times]];
  };
  const severity = (observer: string, position: string, times: number): Sum => [
    ...place('observer', observer, times),
    ...place('observerInPosition', `${observer} ${position}`, times),
  ];
  const observers = [...new Set(rows.map(({ observer }) => observer))];
  const everybody = (position: string, times: number): Sum =>
    observers.flatMap((observer) => severity(observer, position, times / observers.length));
  const covariance = (a: Sum, b: Sum) =>
    a.reduce((sum, [i, m]) => sum + b.reduce((s, [j, n]) => s + m * n * inverse[i]![j]!, 0), 0);
  const sumOf = (sum: Sum) => sum.reduce((total, [i, times]) => total + times * solution[i]!, 0);
  return {
    keys,
    place,
    covariance,
    usual,
    /** Of a row's chance, over its own variance. */
    chance(r: GradedGame): { at: Sum; variance: number } {
      return {
        at: [
          [positions.indexOf(r.position), 1],
          ...keys.flatMap(({ name, of }) => place(name, of(r), 1)),
        ] as Sum,
        variance: residual / weights[rows.indexOf(r)]!,
      };
    },
    /** In points, the error as if the variances were known. */
    gradeAt(official: string, position: string) {
      const at: Sum = [
        [positions.indexOf(position), 1],
        ...place('official', official, 1),
        ...everybody(position, 1),
      ];
      const loss = usual.get(position)!;
      return { at, value: 100 + loss * sumOf(at), error: loss * Math.sqrt(covariance(at, at)) };
    },
    severityAt(observer: string, position: string) {
      const loss = usual.get(position)!;
      const at = [...severity(observer, position, loss), ...everybody(position, -loss)];
      return { at, value: sumOf(at), error: Math.sqrt(covariance(at, at)) };
    },
  };
}

/** What estimating the variances adds to the variance of each grade, in squared points. */
export function addedTo(rows: readonly GradedGame[]): (official: string, position: string) => number {
  const usable = usableRows(rows, {});
  const fit = fitSeason(usable, comparableGroups(usable));
  if (!fit.fitted) throw new Error(fit.reason);
  const uncertainty = varianceUncertainty(fit);
  return (official, position) =>
    fit.usualLoss.get(position)! ** 2 * uncertainty([gradeCombination(fit, position, official)])[0]!;
}
