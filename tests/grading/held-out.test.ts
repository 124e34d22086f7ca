import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { describe, expect, test } from 'vitest';
import { fitCountModel } from '../../server/grading/count-model/count-model.ts';
import { leaveGroupsOut } from '../../server/grading/held-out.ts';
import { heldOutError } from '../../server/grading/held-out-error.ts';
import { fitMixedModel } from '../../server/grading/mixed-model.ts';
import { predict } from '../../server/grading/prediction.ts';
import { gradeSeason, leastMisses } from '../../server/grading/season-choice.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';
import { invert, multiply, transpose } from './dense-mixed-model.ts';

describe('leaving groups out', () => {
  test('is what full matrices predict of each group from all other rows, at the same variances', () => {
    const source = xoroshiro128plus(9);
    const uniform = () => uniformFloat64(source);
    const count = 40;
    const rows = Array.from({ length: count }, (_, row) => ({
      official: `o${Math.floor(uniform() * 7)}`,
      observer: `b${Math.floor(uniform() * 4)}`,
      game: `g${row % 9}`,
      position: row % 2,
      weight: 0.5 + uniform(),
      value: 0,
    }));
    for (const row of rows) row.value = Number(row.official[1]) * 0.8 + Number(row.game[1]) * 0.5 + uniform();
    const names = ['official', 'observer', 'game'] as const;
    const fit = fitMixedModel({
      response: rows.map((row) => row.value),
      weights: rows.map((row) => row.weight),
      fixed: [0, 1].map((at) => ({
        name: `${at}`,
        values: rows.map(({ position }) => Number(position === at)),
      })),
      factors: names.map((name) => ({ name, levels: rows.map((row) => row[name]) })),
    });
    if (!fit.fitted) throw new Error(fit.reason);
    const effect = (k: number, level: string) =>
      fit.factors[k]!.effects[fit.factors[k]!.levels.indexOf(level)]!;
    const found = leaveGroupsOut(
      fit,
      rows.map((row) => {
        const fitted = names.reduce(
          (sum, name, k) => sum + effect(k, row[name]),
          fit.fixed[row.position]!.estimate!,
        );
        const information = row.weight / fit.residualVariance;
        return {
          combination: {
            fixed: { [`${row.position}`]: 1 },
            effects: names.map((factor) => ({ factor, level: row[factor] })),
          },
          information,
          score: information * (row.value - fitted),
          group: row.game,
        };
      }),
    );

    const x = rows.map(({ position }) => [Number(position === 0), Number(position === 1)]);
    const y = rows.map(({ value }) => [value]);
    const v = rows.map((a, i) =>
      rows.map((b, j) =>
        names.reduce(
          (sum, name, k) => sum + (a[name] === b[name] ? fit.factors[k]!.variance : 0),
          i === j ? fit.residualVariance / a.weight : 0,
        ),
      ),
    );
    const every = [...rows.keys()];
    const pick = (matrix: number[][], at: number[], columns?: number[]) =>
      at.map((i) => (columns ? columns.map((j) => matrix[i]![j]!) : matrix[i]!));
    const minus = (a: number[][], b: number[][]) =>
      a.map((row, i) => row.map((value, j) => value - b[i]![j]!));
    for (const game of new Set(rows.map((row) => row.game))) {
      const own = every.filter((i) => rows[i]!.game === game);
      const others = every.filter((i) => rows[i]!.game !== game);
      const inverse = invert(pick(v, others, others)).inverse;
      const xo = pick(x, others);
      const information = invert(multiply(transpose(xo), multiply(inverse, xo))).inverse;
      const beta = multiply(information, multiply(transpose(xo), multiply(inverse, pick(y, others))));
      const across = multiply(pick(v, own, others), inverse);
      const left = minus(pick(y, others), multiply(xo, beta));
      const residual = minus(minus(pick(y, own), multiply(pick(x, own), beta)), multiply(across, left));
      const unexplained = minus(pick(x, own), multiply(across, xo));
      const variance = minus(pick(v, own, own), multiply(across, pick(v, others, own)));
      const ofFixed = multiply(unexplained, multiply(information, transpose(unexplained)));
      for (const [at, i] of own.entries()) {
        expect(found[i]!.residual).toBeCloseTo(residual[at]![0]!, 8);
        expect(found[i]!.variance).toBeCloseTo(variance[at]![at]! + ofFixed[at]![at]!, 8);
      }
    }
  });

  test('of counts is near what fits without the group predict, at the same variances', () => {
    const source = xoroshiro128plus(21);
    const uniform = () => uniformFloat64(source);
    const trials = 60;
    const rows = Array.from({ length: 180 }, (_, row) => ({
      official: `o${row % 15}`,
      observer: `b${Math.floor(uniform() * 6)}`,
      game: `g${Math.floor(row / 6)}`,
      share: 0,
    }));
    for (const row of rows) {
      const shift = 0.1 * Number(row.official.slice(1)) + 0.25 * Number(row.observer[1]) - 1.3;
      const chance = 0.06 * Math.exp(shift + 0.3 * ((Number(row.game.slice(1)) % 5) - 2));
      row.share =
        Array.from({ length: trials }, () => Number(uniform() < chance)).reduce((a, b) => a + b) / trials;
    }
    const names = ['official', 'observer', 'game'] as const;
    const fitOf = (kept: (game: string) => boolean, held?: number[]) => {
      const fit = fitCountModel(
        {
          family: 'binomial',
          response: rows.map(({ share }) => share),
          weights: rows.map(({ game }) => (kept(game) ? trials : 0)),
          factors: names.map((name) => ({ name, levels: rows.map((row) => row[name]) })),
        },
        { restricted: true, ...(held ? { held } : {}) },
      );
      if (!fit.fitted) throw new Error(fit.reason);
      return fit;
    };
    const combination = (row: (typeof rows)[number]) => ({
      fixed: { '(intercept)': 1 },
      effects: names.map((factor) => ({ factor, level: row[factor] })),
    });
    const whole = fitOf(() => true);
    const variances = whole.factors.map(({ variance }) => variance);
    expect(Math.min(...variances)).toBeGreaterThan(0);
    const mean = Array.from(whole.predictor, (value) => 1 / (1 + Math.exp(-value)));
    const information = mean.map((value) => trials * value * (1 - value));
    const found = leaveGroupsOut(
      whole,
      rows.map((row, at) => ({
        combination: combination(row),
        information: information[at]!,
        score: trials * (row.share - mean[at]!),
        group: row.game,
      })),
    );
    let moved = 0;
    let off = 0;
    for (const game of new Set(rows.map((row) => row.game))) {
      const own = [...rows.keys()].filter((at) => rows[at]!.game === game);
      const { estimates } = predict(
        fitOf((other) => other !== game, variances),
        own.map((at) => combination(rows[at]!)),
      );
      for (const [i, at] of own.entries()) {
        const working = whole.predictor[at]! + (trials * (rows[at]!.share - mean[at]!)) / information[at]!;
        moved += (whole.predictor[at]! - estimates[i]!) ** 2;
        off += (working - found[at]!.residual - estimates[i]!) ** 2;
      }
    }
    // One step of Newton's goes nearly the whole way from the fit of all.
    expect(Math.sqrt(moved / rows.length)).toBeGreaterThan(0.1);
    expect(Math.sqrt(off / moved)).toBeLessThan(0.2);
  });

  test('errors are weighed over all games', () => {
    expect(
      heldOutError([
        { game: 'a', weight: 3, squares: 12 },
        { game: 'b', weight: 1, squares: 4 },
      ]),
    ).toBe(2);
    expect(heldOutError([])).toBeNull();
  });
});

describe('the model that a season is graded by', () => {
  const settings = { minimumGames: 1, minimumOpportunities: 1, top: 1, seed: 3, draws: 0 };
  /** Four crews of one position, eight games each, whose observers multiply misses by 1, 2 and 4. */
  const season = (scale: number): GradedGame[] =>
    Array.from({ length: 32 }, (_, g) => {
      const observer = (g + Math.floor(g / 4)) % 3;
      const misses = Math.round(scale * 2 ** observer * (2 + (g % 4)) * (1 + 0.1 * ((g * 7) % 3)));
      return {
        official: `referee ${g % 4}`,
        position: 'referee',
        game: `game ${g}`,
        observer: `observer ${observer}`,
        counts: [{ weight: 1, opportunities: 400, met: 400 - misses }],
      };
    });

  test('is the counts where observers multiply misses, and says how much nearer it predicts', () => {
    const { model, standings } = gradeSeason(season(1), settings);
    expect(model).toMatchObject({ used: 'counts', chosen: true });
    expect(model.heldOut!.counts!).toBeLessThan(0.8 * model.heldOut!.linear!);
    expect(model.why).toBe(
      `of two ways it foretells games better. Each game foretold from all the others, it was ${model.heldOut!.counts!.toFixed(3)} points off, the other way ${model.heldOut!.linear!.toFixed(3)}`,
    );
    expect(standings).toEqual(
      gradeSeason(season(1), settings, season(1), { model: 'counts', because: 'asked' }).standings,
    );
  });

  test('stays linear with few misses, and is what was asked for', () => {
    const { model } = gradeSeason(season(0.03), settings);
    expect(model.used).toBe('linear');
    expect(model.why).toMatch(new RegExp(`misses of an official on average; .*${leastMisses} or more`));
    expect(
      gradeSeason(season(0.03), settings, season(0.03), { model: 'counts', because: 'asked' }).model,
    ).toMatchObject({
      used: 'counts',
      chosen: false,
    });
    expect(gradeSeason([], settings).model.used).toBe('linear');
  });

  test('does not call just under the least the least', () => {
    const missed = [4, 4, 3].map(
      (misses, at): GradedGame => ({
        official: `referee ${at}`,
        position: 'referee',
        game: 'game 1',
        observer: 'observer 1',
        counts: [{ weight: 1, opportunities: 100, met: 100 - misses }],
      }),
    );
    expect(gradeSeason(missed, settings).model.why).toBe(
      'the reports hold 3.6 misses of an official on average; counting misses wants 4 or more',
    );
  });

  test('where one foretells nothing that is said; it does not mean that it grades nobody', () => {
    const equal = season(1).map((row) => ({
      ...row,
      counts: [{ weight: 1, opportunities: 400, met: 380 }],
    }));
    const { model } = gradeSeason(equal, settings);
    expect(model.used).toBe('counts');
    expect(model.why).toBe('by adding points no game can be foretold from the others');
    const { standings } = gradeSeason(equal, settings, equal, { model: 'linear', because: 'fixed' });
    expect(standings[0]!.adjusted).not.toBeNull();
  });

  test('is for calls and mechanics what it is for the whole grade, but linear with few misses', () => {
    const kind = (scale: number, model: 'linear' | 'counts') =>
      gradeSeason(season(scale), settings, season(scale), { model, because: 'season' }).model;
    for (const model of ['linear', 'counts'] as const) {
      expect(kind(1, model)).toEqual({
        used: model,
        chosen: true,
        why: 'that is how the whole grade of this season is found',
        heldOut: null,
      });
    }
    expect(kind(0.03, 'counts')).toMatchObject({ used: 'linear', chosen: true });
    expect(kind(0.03, 'counts').why).toMatch(/misses of an official on average/);
  });
});
