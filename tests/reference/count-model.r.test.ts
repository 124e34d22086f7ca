import { beforeAll, describe, expect, test } from 'vitest';
import { type CountModelRows, fitCountModel } from '../../server/grading/count-model/count-model.ts';
import { rTables } from './r-tables.ts';

/**
 * The count model beside `glmer` (Laplace, nAGQ = 1) of R's package lme4 in the same run, on data of that package.
 * `glmer`'s own search stops a little before the optimum: our criterion may be lower than its, never higher.
 */
function expectSame(
  tables: Record<string, unknown[][]>,
  name: string,
  rows: CountModelRows,
  within: { criterion: number; sd: number; fixed: number },
) {
  const fit = fitCountModel(rows);
  if (!fit.fitted) throw new Error(fit.reason);
  expect(fit.converged).toBe(true);
  const criterion = -2 * (tables[`${name} logLik`]![0]![0] as number);
  expect(fit.criterion!).toBeLessThan(criterion + 1e-4);
  expect(fit.criterion!).toBeGreaterThan(criterion - within.criterion);
  for (const [factor, sd] of tables[`${name} sds`] as [string, number][]) {
    const ours = Math.sqrt(fit.factors.find((candidate) => candidate.name === factor)!.variance);
    expect(Math.abs(ours - sd), `sd of ${factor}: ${ours} beside ${sd}`).toBeLessThan(within.sd);
  }
  for (const [j, [estimate, error]] of (tables[`${name} fixed`] as [number, number][]).entries()) {
    expect(Math.abs(fit.fixed[j]!.estimate! - estimate), `fixed effect ${j}`).toBeLessThan(within.fixed);
    expect(Math.abs(fit.fixed[j]!.standardError! / error - 1), `error of fixed effect ${j}`).toBeLessThan(
      0.01,
    );
  }
  return fit;
}

const column = <T>(rows: unknown[][], index: number) => rows.map((row) => row[index] as T);
const dummies = (values: unknown[], levels: unknown[]) =>
  levels.map((level) => ({ name: `${level}`, values: values.map((value) => (value === level ? 1 : 0)) }));
const intercept = (count: number) => ({ name: 'intercept', values: new Float64Array(count).fill(1) });

describe('the count model beside glmer', () => {
  let tables: Record<string, unknown[][]>;
  beforeAll(() => {
    tables = rTables(`
      suppressMessages(library(lme4))
      results <- function(name, m) {
        table(paste0(name, " logLik"), data.frame(as.numeric(logLik(m))))
        table(paste0(name, " sds"), data.frame(names(VarCorr(m)), sapply(VarCorr(m), function(v) sqrt(v[1]))))
        table(paste0(name, " fixed"), data.frame(fixef(m), sqrt(diag(as.matrix(suppressWarnings(vcov(m, use.hessian = FALSE)))))))
      }
      table("cbpp", data.frame(cbpp$incidence, cbpp$size, as.integer(cbpp$herd), as.integer(cbpp$period)))
      results("cbpp", glmer(cbind(incidence, size - incidence) ~ period + (1 | herd), cbpp, binomial))
      table("VerbAgg", data.frame(as.integer(VerbAgg$r2 == "Y"), as.integer(VerbAgg$id), as.integer(VerbAgg$item),
                                  VerbAgg$btype, VerbAgg$mode, VerbAgg$situ))
      results("VerbAgg", glmer(r2 ~ 1 + (1 | id) + (1 | item), VerbAgg, binomial))
      results("VerbAgg with fixed effects", glmer(r2 ~ btype + mode + situ + (1 | id) + (1 | item), VerbAgg, binomial))
      table("ticks", data.frame(grouseticks$TICKS, as.integer(grouseticks$INDEX), as.integer(grouseticks$BROOD),
                                as.integer(grouseticks$LOCATION), grouseticks$cHEIGHT, grouseticks$YEAR))
      results("ticks", glmer(TICKS ~ YEAR + I(cHEIGHT / 100) + offset(log(1 + as.integer(INDEX) %% 5)) + (1 | INDEX) +
                             (1 | BROOD) + (1 | LOCATION), grouseticks, poisson,
                             control = glmerControl(optimizer = "bobyqa", optCtrl = list(maxfun = 1e5))))
    `);
  });

  test('cbpp: 56 binomial counts of 15 herds, unequal trials', () => {
    const rows = tables.cbpp!;
    const size = column<number>(rows, 1);
    expectSame(
      tables,
      'cbpp',
      {
        family: 'binomial',
        response: column<number>(rows, 0).map((count, row) => count / size[row]!),
        weights: size,
        fixed: [intercept(rows.length), ...dummies(column(rows, 3), [2, 3, 4])],
        factors: [{ name: 'herd', levels: column<number>(rows, 2) }],
      },
      { criterion: 1e-3, sd: 1e-3, fixed: 2e-3 },
    );
  });

  const verbAgg = (): CountModelRows => ({
    family: 'binomial',
    response: column<number>(tables.VerbAgg!, 0),
    factors: [
      { name: 'id', levels: column<number>(tables.VerbAgg!, 1) },
      { name: 'item', levels: column<number>(tables.VerbAgg!, 2) },
    ],
  });

  test('VerbAgg: 7,584 answers of 316 persons to 24 items, crossed', () => {
    const fit = expectSame(tables, 'VerbAgg', verbAgg(), { criterion: 1e-3, sd: 1e-3, fixed: 1e-3 });
    // As printed by lme4 1.1-31.
    expect(fit.criterion! / -2).toBeCloseTo(-4101.5488, 4);
    expect(Math.sqrt(fit.factors[0]!.variance)).toBeCloseTo(1.37334, 4);
    expect(Math.sqrt(fit.factors[1]!.variance)).toBeCloseTo(1.12949, 4);
  });

  test('VerbAgg with fixed effects', () => {
    const rows = tables.VerbAgg!;
    expectSame(
      tables,
      'VerbAgg with fixed effects',
      {
        ...verbAgg(),
        fixed: [
          intercept(rows.length),
          ...dummies(column(rows, 3), ['scold', 'shout']),
          ...dummies(column(rows, 4), ['do']),
          ...dummies(column(rows, 5), ['self']),
        ],
      },
      { criterion: 0.01, sd: 2e-3, fixed: 3e-3 },
    );
  });

  test('grouseticks: Poisson counts, three factors of which one has a level a row, with an offset', () => {
    const rows = tables.ticks!;
    const index = column<number>(rows, 1);
    expectSame(
      tables,
      'ticks',
      {
        family: 'poisson',
        response: column<number>(rows, 0),
        offset: index.map((value) => Math.log(1 + (value % 5))),
        fixed: [
          intercept(rows.length),
          ...dummies(column(rows, 5), [96, 97]),
          { name: 'height', values: column<number>(rows, 4).map((height) => height / 100) },
        ],
        factors: [
          { name: 'INDEX', levels: index },
          { name: 'BROOD', levels: column<number>(rows, 2) },
          { name: 'LOCATION', levels: column<number>(rows, 3) },
        ],
      },
      { criterion: 0.01, sd: 5e-3, fixed: 1e-2 },
    );
  });
});
