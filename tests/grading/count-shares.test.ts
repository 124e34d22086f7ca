import { describe, expect, test } from 'vitest';
import { fitCountModel } from '../../server/grading/count-model/count-model.ts';
import { type CountRow, countRows } from '../../server/grading/count-model/count-rows.ts';
import { countShares } from '../../server/grading/count-model/count-shares.ts';
import {
  classInPosition,
  countFactors,
  countLevel,
  countUncertainty,
  fitSeasonCounts,
  officialInClass,
} from '../../server/grading/count-model/season-counts.ts';
import { otherWaysToRank } from '../../server/grading/other-ways.ts';
import { predict } from '../../server/grading/prediction.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';
import { seeded } from '../bench/planning-instances.ts';
import { invert } from './dense-mixed-model.ts';

type Factor = keyof typeof countFactors;

/** Two positions of five officials, fourteen games, most seen by two of four observers; misses by chance. */
function madeSeason(
  seed: number,
  {
    chances,
    usual,
    strict,
    spread = 1,
  }: { chances: [dear: number, other: number]; usual: number; strict: number; spread?: number },
): GradedGame[] {
  const random = seeded(seed);
  const drawn = new Map<string, number>();
  const effect = (name: string, size: number) => {
    if (!drawn.has(name)) drawn.set(name, spread * size * 2 * (random() + random() + random() - 1.5));
    return drawn.get(name)!;
  };
  const rows: GradedGame[] = [];
  for (let g = 0; g < 14; g += 1) {
    const watching = [g % 4, ...(g % 3 === 0 ? [] : [(g + 1 + (g % 2)) % 4])];
    for (const position of ['umpire', 'line judge']) {
      const official = `${position} ${g % 5}`;
      for (const observer of watching) {
        const logOdds =
          usual +
          effect(official, 0.4) +
          effect(`observer ${observer}`, strict) +
          effect(`game ${g}`, 0.15) +
          effect(`${official} in ${g}`, 0.25);
        const chance = 1 / (1 + Math.exp(-logOdds));
        const metOf = (opportunities: number) => {
          let met = 0;
          for (let i = 0; i < opportunities; i += 1) if (random() >= chance) met += 1;
          return met;
        };
        rows.push({
          official,
          position,
          game: `game ${g}`,
          observer: `observer ${observer}`,
          counts: [4, 1].map((weight, at) => {
            const opportunities = chances[at]!;
            return { weight, opportunities, met: metOf(opportunities) };
          }),
        });
      }
    }
  }
  return rows;
}

const inverseLogit = (value: number) => 1 / (1 + Math.exp(-value));
const logit = (share: number) => Math.log(share / (1 - share));

const usualSeason = countRows(madeSeason(5, { chances: [30, 90], usual: -2.6, strict: 0.3 }));
const fitted = (rows: readonly CountRow[]) => {
  const fit = fitSeasonCounts(rows);
  if (!fit.fitted) throw new Error(fit.reason);
  return fit;
};
const fit = fitted(usualSeason);
const varianceOf = (factor: Factor) =>
  fit.factors.find(({ name }) => name === countFactors[factor])!.variance;
const found = (Object.keys(countFactors) as Factor[]).filter((factor) => varianceOf(factor) > 0);

const grid = Array.from({ length: 241 }, (_, i) => (i - 120) / 20);
const density = grid.map((z) => Math.exp((-z * z) / 2));
const whole = density.reduce((sum, value) => sum + value, 0);

/** A position's classes of duties, and the grade written out: the mean over evenings, games and observers by a fine grid. */
function gradeWrittenOut(position: string) {
  const rows = usualSeason.filter((row) => row.position === position);
  const weightOf = (of: readonly CountRow[]) => of.reduce((sum, { weight }) => sum + weight, 0);
  // What is uncertain makes more of the position's misses than there were; its level is taken down by as much.
  const { covariance } = predict(
    fit,
    rows.map((row) => ({
      fixed: { '(intercept)': 1 },
      effects: (Object.keys(countFactors) as Factor[]).map((name) => ({
        factor: countFactors[name],
        level: countLevel[name](row),
      })),
    })),
  );
  const shareOf = (mean: (at: number) => number) =>
    rows.reduce((sum, { weight }, at) => sum + weight * mean(at), 0) / weightOf(rows);
  const predictorOf = (at: number) => fit.predictor[usualSeason.indexOf(rows[at]!)]!;
  const above =
    logit(
      shareOf((at) => {
        const deviation = Math.sqrt(covariance[at * rows.length + at]!);
        return grid.reduce(
          (sum, z, i) => sum + (density[i]! / whole) * inverseLogit(predictorOf(at) + deviation * z),
          0,
        );
      }),
    ) - logit(shareOf((at) => inverseLogit(predictorOf(at))));
  const classes = [...new Set(rows.map((row) => row.class))].map((name) => {
    const own = rows.filter((row) => row.class === name);
    const expected = own.reduce((sum, row) => sum + row.weight * row.expected, 0) / weightOf(own);
    return { name, share: weightOf(own) / weightOf(rows), level: logit(expected) - above };
  });
  const deviation = Math.sqrt(
    varianceOf('officialInGame') +
      varianceOf('game') +
      varianceOf('observer') +
      varianceOf('observerInPosition'),
  );
  const grade = (shifts: readonly number[]) =>
    100 *
    classes.reduce(
      (kept, { share, level }, c) =>
        kept -
        share *
          grid.reduce(
            (sum, z, i) => sum + (density[i]! / whole) * inverseLogit(level + shifts[c]! + deviation * z),
            0,
          ),
      1,
    );
  const slopes = (shifts: readonly number[]) =>
    shifts.map((_, c) => {
      const moved = (by: number) => grade(shifts.map((value, i) => (i === c ? value + by : value)));
      return (moved(1e-4) - moved(-1e-4)) / 2e-4;
    });
  return { classes, grade, slopes };
}

const everyObserver = [...new Set(usualSeason.map(({ observer }) => observer))].sort();
/** All meet, so that all officials are compared by all observers. */
const observersOf = new Map(usualSeason.map(({ official }) => [official, everyObserver]));

/** The same rows but these, at the same variances: fitted anew to the modes. */
function fittedWithout(leaves: (row: CountRow) => boolean) {
  const rows = usualSeason.filter((row) => !leaves(row));
  const anew = fitCountModel(
    {
      family: 'binomial',
      response: rows.map((row) => row.lost),
      weights: rows.map((row) => row.trials),
      offset: rows.map((row) => logit(row.expected)),
      factors: found.map((name) => ({ name, levels: rows.map(countLevel[name]) })),
    },
    { held: found.map(varianceOf), restricted: true },
  );
  if (!anew.fitted) throw new Error(anew.reason);
  return (official: string, position: string) => {
    const { classes, grade, slopes } = gradeWrittenOut(position);
    const combinations = classes.map(({ name }) => ({
      fixed: { '(intercept)': 1 },
      effects: [
        { factor: 'classInPosition', level: classInPosition(position, name) },
        { factor: 'official', level: official },
        { factor: 'officialInClass', level: officialInClass(official, name) },
        ...everyObserver.flatMap((observer) => [
          { factor: 'observer', level: observer, times: 1 / everyObserver.length },
          {
            factor: 'observerInPosition',
            level: `${observer}\n${position}`,
            times: 1 / everyObserver.length,
          },
        ]),
      ].filter(({ factor }) => found.includes(factor as Factor)),
    }));
    const { estimates, covariance } = predict(anew, combinations);
    const shifts = [...estimates];
    // What estimating the variances adds is held against a formula in variance-uncertainty.test.ts.
    const added = countUncertainty(fit)(
      combinations.map(({ fixed, effects }) => ({
        fixed,
        effects: effects.map((effect) => ({ ...effect, factor: countFactors[effect.factor as Factor] })),
      })),
    );
    for (const [at, more] of added.entries()) covariance[at]! += more;
    const slope = slopes(shifts);
    const variance = slope.reduce(
      (sum, a, i) => sum + slope.reduce((s, b, j) => s + a * b * covariance[i * slope.length + j]!, 0),
      0,
    );
    return { grade: grade(shifts), standardError: Math.sqrt(variance) };
  };
}

const officialsOf = (position: string) =>
  [...new Set(usualSeason.filter((row) => row.position === position).map((row) => row.official))].sort();
const sharesIn = countShares(fit, usualSeason, observersOf);

describe('shares of a grade by the model of counts', () => {
  test('without one game: within a twentieth of its standard error of a fit anew without its rows', () => {
    let moved = 0;
    for (const position of ['umpire', 'line judge']) {
      const officials = officialsOf(position);
      const stands = fittedWithout(() => false);
      for (const official of officials.slice(0, 3)) {
        const shares = sharesIn(position, official, officials)!;
        for (const { game, without } of shares.games) {
          const anew = fittedWithout((row) => row.official === official && row.game === game);
          const expected = anew(official, position);
          expect(Math.abs(without!.grade - expected.grade) / expected.standardError).toBeLessThan(0.05);
          expect(without!.standardError / expected.standardError).toBeGreaterThan(0.96);
          expect(without!.standardError / expected.standardError).toBeLessThan(1.04);
          const others = officials
            .filter((other) => other !== official)
            .map((other) => anew(other, position).grade);
          // A place is compared only where nobody is as near as one step may be out.
          if (others.every((grade) => Math.abs(grade - expected.grade) > 0.1 * expected.standardError)) {
            expect(without!.place).toBe(1 + others.filter((grade) => grade > expected.grade).length);
          }
          moved = Math.max(
            moved,
            Math.abs(expected.grade - stands(official, position).grade) / expected.standardError,
          );
        }
      }
    }
    // A game does move a grade by more than what is tolerated.
    expect(moved).toBeGreaterThan(0.3);
  });

  test('the parts of the uncertainty add up, and are those of every effect and row written out', () => {
    const levels = found.map((name) => [...new Set(usualSeason.map(countLevel[name]))]);
    const starts = found.map((_, k) => levels.slice(0, k).reduce((at, own) => at + own.length, 1));
    const placeOf = (name: Factor, level: string) => {
      const k = found.indexOf(name);
      return k < 0 ? [] : [starts[k]! + levels[k]!.indexOf(level)];
    };
    const places = (row: CountRow) => [0, ...found.flatMap((name) => placeOf(name, countLevel[name](row)))];
    const information = usualSeason.map((row, at) => {
      const mean = inverseLogit(fit.predictor[at]!);
      return row.trials * mean * (1 - mean);
    });
    const size = 1 + levels.reduce((sum, own) => sum + own.length, 0);
    const equations = Array.from({ length: size }, () => new Array<number>(size).fill(0));
    for (const [at, row] of usualSeason.entries()) {
      for (const i of places(row)) for (const j of places(row)) equations[i]![j]! += information[at]!;
    }
    for (const [k, name] of found.entries()) {
      for (const l of levels[k]!.keys()) equations[starts[k]! + l]![starts[k]! + l]! += 1 / varianceOf(name);
    }
    const { inverse } = invert(equations);
    for (const position of ['umpire', 'line judge']) {
      const { classes, slopes } = gradeWrittenOut(position);
      for (const official of officialsOf(position)) {
        const once = (places: readonly number[]) => places.map((at) => ({ at, times: 1 }));
        const own = classes.map(({ name }) => [
          ...once([
            0,
            ...placeOf('classInPosition', classInPosition(position, name)),
            ...placeOf('official', official),
            ...placeOf('officialInClass', officialInClass(official, name)),
          ]),
          ...everyObserver
            .flatMap((observer) => [
              ...placeOf('observer', observer),
              ...placeOf('observerInPosition', `${observer}\n${position}`),
            ])
            .map((at) => ({ at, times: 1 / everyObserver.length })),
        ]);
        const effectAt = (at: number) => {
          if (at === 0) return fit.fixed[0]!.estimate!;
          const k = starts.findLastIndex((start) => start <= at);
          const factor = fit.factors.find(({ name }) => name === countFactors[found[k]!])!;
          return factor.effects[factor.levels.indexOf(levels[k]![at - starts[k]!]!)]!;
        };
        const slope = slopes(
          own.map((parts) => parts.reduce((sum, { at, times }) => sum + times * effectAt(at), 0)),
        );
        const withGrade = (at: readonly number[]) =>
          own.reduce(
            (sum, mine, c) =>
              sum +
              slope[c]! *
                mine.reduce((s, i) => s + i.times * at.reduce((t, j) => t + inverse[i.at]![j]!, 0), 0),
            0,
          );
        const whole = own.reduce(
          (sum, mine, c) => sum + slope[c]! * mine.reduce((s, i) => s + i.times * withGrade([i.at]), 0),
          0,
        );
        const ofEffect = (name: Factor, level: string) =>
          placeOf(name, level).reduce((sum, at) => sum + withGrade([at]) ** 2 / varianceOf(name) / whole, 0);
        const ofRow = (row: CountRow) =>
          (withGrade(places(row)) ** 2 * information[usualSeason.indexOf(row)]!) / whole;
        const everything =
          found.reduce(
            (sum, name, k) => sum + levels[k]!.reduce((s, level) => s + ofEffect(name, level), 0),
            0,
          ) + usualSeason.reduce((sum, row) => sum + ofRow(row), 0);
        expect(everything).toBeCloseTo(1, 9);

        const shares = sharesIn(position, official, officialsOf(position))!;
        const rows = usualSeason.filter((row) => row.official === official);
        for (const { game, uncertainty } of shares.games) {
          const expected =
            ofEffect('game', game) +
            ofEffect('officialInGame', `${official}\n${game}`) +
            rows.filter((row) => row.game === game).reduce((sum, row) => sum + ofRow(row), 0);
          expect(uncertainty).toBeCloseTo(expected, 3);
        }
        expect(shares.official).toBeCloseTo(
          ofEffect('official', official) +
            classes.reduce(
              (sum, { name }) => sum + ofEffect('officialInClass', officialInClass(official, name)),
              0,
            ),
          3,
        );
        expect(shares.observers).toBeCloseTo(
          everyObserver.reduce(
            (sum, observer) =>
              sum +
              ofEffect('observer', observer) +
              ofEffect('observerInPosition', `${observer}\n${position}`),
            0,
          ),
          3,
        );
        const told = shares.games.reduce((sum, { uncertainty }) => sum + uncertainty, 0);
        expect(told + shares.official + shares.observers + shares.others).toBeCloseTo(1, 9);
        expect(told).toBeGreaterThan(0.05);
      }
    }
  });

  test('of many misses by observers of one severity they are nearly those of the linear model', () => {
    const settings = { minimumGames: 0, minimumOpportunities: 0, top: 2, seed: 1, draws: 50 };
    // Misses of about two in five, where the log-odds is nearly straight.
    const rows = madeSeason(8, { chances: [0, 3000], usual: -0.4, strict: 0, spread: 0.3 });
    const by = {
      linear: otherWaysToRank(rows, settings),
      counts: otherWaysToRank(rows, settings, rows, 'counts'),
    };
    expect(by.counts.shares).toHaveLength(10);
    for (const { official, position, shares } of by.counts.shares) {
      const linear = by.linear.shares.find(
        (one) => one.official === official && one.position === position,
      )!.shares;
      expect(shares.games.map(({ game }) => game)).toEqual(linear.games.map(({ game }) => game));
      for (const [at, { uncertainty, without }] of shares.games.entries()) {
        const beside = linear.games[at]!;
        expect(Math.abs(uncertainty - beside.uncertainty)).toBeLessThan(0.02);
        expect(Math.abs(without!.grade - beside.without!.grade)).toBeLessThan(0.2);
        expect(Math.abs(without!.standardError / beside.without!.standardError - 1)).toBeLessThan(0.1);
      }
      expect(Math.abs(shares.official - linear.official)).toBeLessThan(0.02);
      expect(shares.observers).toBeLessThan(0.05);
    }
  });

  test('of one game there is nothing without it, and of an official without rows nothing at all', () => {
    const single = countRows([
      ...madeSeason(5, { chances: [30, 90], usual: -2.6, strict: 0.3 }),
      {
        official: 'Ash',
        position: 'umpire',
        game: 'game 3',
        observer: 'observer 1',
        counts: [{ weight: 1, opportunities: 90, met: 90 }],
      },
    ]);
    const shares = countShares(
      fitted(single),
      single,
      new Map(single.map(({ official }) => [official, everyObserver])),
    );
    const ash = shares('umpire', 'Ash', [])!;
    expect(ash.games).toHaveLength(1);
    expect(ash.games[0]!.without).toBeNull();
    expect(ash.games[0]!.uncertainty + ash.official + ash.observers + ash.others).toBeCloseTo(1, 9);
    expect(shares('line judge', 'Ash', [])).toBeNull();
    expect(shares('umpire', 'nobody', [])).toBeNull();
  });
});
