import { beforeAll, describe, expect, test } from 'vitest';
import { fitMixedModel, type MixedModelRows } from '../../server/grading/mixed-model.ts';
import { rTables } from './r-tables.ts';

function fitted(rows: MixedModelRows) {
  const result = fitMixedModel(rows);
  if (!result.fitted) throw new Error(result.reason);
  return result;
}

function column<T>(rows: unknown[][], index: number): T[] {
  return rows.map((row) => row[index] as T);
}

/** Criterion within 1e-6 relative, variances within 1e-4 relative, effects within 1e-4 absolute. */
function expectSame(name: string, tables: Record<string, unknown[][]>, model: ReturnType<typeof fitted>) {
  const [criterion, residual] = tables[`${name} summary`]![0] as [number, number];
  expect(Math.abs(model.criterion! / criterion - 1)).toBeLessThan(1e-6);
  expect(Math.abs(model.residualVariance / residual - 1)).toBeLessThan(1e-4);
  for (const [factor, variance] of tables[`${name} variances`] as [string, number][]) {
    const ours = model.factors.find((candidate) => candidate.name === factor)!;
    expect(Math.abs(ours.variance / variance - 1), `variance of ${factor}`).toBeLessThan(1e-4);
    const effects = tables[`${name} effects ${factor}`] as [string | number, number][];
    expect(ours.levels.length).toBe(effects.length);
    const at = new Map(ours.levels.map((level, i) => [String(level), i]));
    let furthest = 0;
    for (const [level, effect] of effects) {
      furthest = Math.max(furthest, Math.abs(ours.effects[at.get(String(level))!]! - effect));
    }
    expect(furthest, `effects of ${factor}`).toBeLessThan(1e-4);
  }
  for (const [j, [estimate, error]] of (tables[`${name} fixed`] as [number, number][]).entries()) {
    expect(Math.abs(model.fixed[j]!.estimate! - estimate)).toBeLessThan(1e-4);
    expect(Math.abs(model.fixed[j]!.standardError! / error - 1)).toBeLessThan(1e-3);
  }
}

describe('the mixed model beside lme4', () => {
  let tables: Record<string, unknown[][]>;
  beforeAll(() => {
    // Our fit beside lme4's own in the same run, on data read from the package.
    tables = rTables(`
      suppressMessages(library(lme4))
      exact <- lmerControl(optCtrl = list(xtol_abs = 1e-10, xtol_rel = 1e-10, ftol_abs = 1e-12, ftol_rel = 1e-15))
      results <- function(name, m) {
        table(paste0(name, " summary"), data.frame(REMLcrit(m), sigma(m)^2))
        table(paste0(name, " variances"), data.frame(names(VarCorr(m)), sapply(VarCorr(m), function(v) v[1])))
        table(paste0(name, " fixed"), data.frame(fixef(m), sqrt(diag(as.matrix(vcov(m))))))
        for (f in names(ranef(m, condVar = FALSE)))
          table(paste0(name, " effects ", f), data.frame(rownames(ranef(m, condVar = FALSE)[[f]]), ranef(m, condVar = FALSE)[[f]][, 1]))
      }
      table("InstEval", data.frame(InstEval$y, InstEval$s, InstEval$d))
      results("InstEval", lmer(y ~ 1 + (1 | s) + (1 | d), InstEval))
      # A part small enough to be quick, with weights, three factors and fixed effects.
      part <- subset(InstEval, as.integer(s) %% 12 == 0)
      part$w <- 0.5 + (as.integer(part$s) * 7 + as.integer(part$d) * 3) %% 11
      table("part", data.frame(part$y, part$w, part$s, part$d, part$dept, part$service))
      results("part", lmer(y ~ 1 + service + (1 | s) + (1 | d) + (1 | dept), part, weights = w, control = exact))
      results("four", lmer(y ~ 1 + service + (1 | s) + (1 | d) + (1 | dept) + (1 | s:dept), part, weights = w, control = exact))
      table("Pastes", data.frame(Pastes$strength, Pastes$batch, Pastes$sample))
      results("Pastes", lmer(strength ~ 1 + (1 | sample) + (1 | batch), Pastes, control = exact))
    `);
  });

  test('InstEval: 73,421 ratings of 1,128 by 2,972', () => {
    const rows = tables.InstEval!;
    expect(rows.length).toBe(73_421);
    const model = fitted({
      response: column<number>(rows, 0),
      factors: [
        { name: 's', levels: column<number>(rows, 1) },
        { name: 'd', levels: column<number>(rows, 2) },
      ],
    });
    expectSame('InstEval', tables, model);
    // The same figures as printed by lme4 1.1-31.
    expect(model.criterion).toBeCloseTo(237783.880388, 5);
    expect(model.factors[0]!.variance).toBeCloseTo(0.10621, 5);
    expect(model.factors[1]!.variance).toBeCloseTo(0.27373, 5);
    expect(model.residualVariance).toBeCloseTo(1.38718, 5);
    expect(model.fixed[0]!.estimate).toBeCloseTo(3.254158281, 6);
  });

  test('weights, a fixed effect and three factors', () => {
    const rows = tables.part!;
    const model = fitted({
      response: column<number>(rows, 0),
      weights: column<number>(rows, 1),
      fixed: [
        { name: 'intercept', values: rows.map(() => 1) },
        { name: 'service', values: column<number>(rows, 5) },
      ],
      factors: [
        { name: 's', levels: column<number>(rows, 2) },
        { name: 'd', levels: column<number>(rows, 3) },
        { name: 'dept', levels: column<number>(rows, 4) },
      ],
    });
    expectSame('part', tables, model);
  });

  // Not d:dept: each lecturer of InstEval is of one department, so that it is d once more.
  test('four factors, one of them the pairs of two others', () => {
    const rows = tables.part!;
    const model = fitted({
      response: column<number>(rows, 0),
      weights: column<number>(rows, 1),
      fixed: [
        { name: 'intercept', values: rows.map(() => 1) },
        { name: 'service', values: column<number>(rows, 5) },
      ],
      factors: [
        { name: 's', levels: column<number>(rows, 2) },
        { name: 'd', levels: column<number>(rows, 3) },
        { name: 'dept', levels: column<number>(rows, 4) },
        { name: 's:dept', levels: rows.map((row) => `${row[2]}:${row[4]}`) },
      ],
    });
    expectSame('four', tables, model);
  });

  test('nested factors', () => {
    const rows = tables.Pastes!;
    const model = fitted({
      response: column<number>(rows, 0),
      factors: [
        { name: 'batch', levels: column<string>(rows, 1) },
        { name: 'sample', levels: column<string>(rows, 2) },
      ],
    });
    expectSame('Pastes', tables, model);
  });
});
