import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { borrowing, officialEffects, type PastRow } from '../../server/grading/last-season.ts';
import { predict } from '../../server/grading/prediction.ts';
import {
  factorOf,
  fitSeason,
  levelOf,
  onScale,
  type SeasonFit,
  seasonFactors,
} from '../../server/grading/season-fit.ts';
import type { UsableRow } from '../../server/grading/season-rows.ts';
import { rTables } from './r-tables.ts';

/**
 * Two seasons beside R: the correlation of officials over seasons by R's own integration of the bivariate normal density,
 * and grades that borrow strength by full matrices (Henderson 1975: β̂ = (X'V⁻¹X)⁻¹X'V⁻¹y, û = GZ'V⁻¹(y − Xβ̂)).
 */

const folder = mkdtempSync(join(tmpdir(), 'two-seasons-beside-r-'));
afterAll(() => rmSync(folder, { recursive: true }));

const draws = new Draws(31, 'two seasons beside R');
const positions = ['referee', 'umpire'] as const;
const staff = Array.from({ length: 24 }, (_, at) => {
  const then = draws.normal(0, 1.2);
  return {
    name: `official ${at}`,
    position: positions[at % 2]!,
    then,
    now: 0.8 * then + draws.normal(0, 0.6),
  };
});

/** Grades of 40 games of five observers, one official a position in turn. */
function season(
  skill: (one: (typeof staff)[number]) => number,
  of: readonly (typeof staff)[number][],
): UsableRow[] {
  const severity = Array.from({ length: 5 }, () => draws.normal(0, 0.8));
  return Array.from({ length: 40 }, (_, game) => game).flatMap((game) =>
    positions.map((position): UsableRow => {
      const own = of.filter((one) => one.position === position);
      const one = own[(game * 3) % own.length]!;
      const value = 92 + skill(one) + severity[game % 5]! + draws.normal(0, 1.5);
      return {
        official: one.name,
        position,
        game: `game ${game}`,
        observer: `observer ${game % 5}`,
        value,
        weight: draws.integer(80, 160),
      };
    }),
  );
}

const before = season(({ then }) => then, staff.slice(0, 20));
const now = season((one) => one.now, staff.slice(2));

function written(name: string, columns: Record<string, readonly (string | number)[]>): string {
  const names = Object.keys(columns);
  const lines = columns[names[0]!]!.map((_, row) =>
    names.map((column) => JSON.stringify(columns[column]![row])).join(','),
  );
  const file = join(folder, name);
  writeFileSync(file, `${[names.join(','), ...lines].join('\n')}\n`);
  return file;
}

describe('a season that borrows strength from the one before', () => {
  const alone = fitSeason(now);
  const past = fitSeason(before);
  if (!alone.fitted || !past.fitted) throw new Error('not fitted');
  const both = borrowing(
    alone,
    () => past,
    seasonFactors.official,
    (rows) => fitSeason(now, undefined, [], rows),
  );
  if (!both.fitted || !both.borrowed) throw new Error('not fitted with the season before');
  const { rows, taken } = both.borrowed;
  let tables: Record<string, unknown[][]>;

  beforeAll(() => {
    const seen = [
      officialEffects(alone, seasonFactors.official),
      officialEffects(past, seasonFactors.official),
    ];
    // What was seen of those in both, as the definition says: effect / deviation / reliability, its error (1 − r)/r.
    const shared = rows.map(({ official }) => official);
    const column = (which: 0 | 1, what: 'effect' | 'reliability') =>
      shared.map((official) => seen[which]!.of.get(official)![what]);
    const pairs = written('pairs.csv', {
      a: column(0, 'effect'),
      ra: column(0, 'reliability'),
      b: column(1, 'effect'),
      rb: column(1, 'reliability'),
    });
    const linear = now.map((row) => onScale(alone.usualLoss, row));
    const none = rows.map(() => 'none');
    const file = written('rows.csv', {
      y: [...linear.map(({ response }) => response), ...rows.map(({ value }) => value)],
      // The row's own variance.
      v: [
        ...linear.map(({ weight }) => alone.residualVariance / weight),
        ...rows.map(({ variance }: PastRow) => variance),
      ],
      where: [...now.map(({ position }) => position), ...rows.map(() => 'before')],
      official: [...now.map(({ official }) => official), ...shared],
      observer: [...now.map(({ observer }) => observer), ...none],
      game: [...now.map(({ game }) => game), ...none],
      inPosition: [...now.map((row) => levelOf.observerInPosition(row).replace('\n', ' + ')), ...none],
      evening: [...now.map((row) => levelOf.officialInGame(row).replace('\n', ' + ')), ...none],
    });
    const variance = (factor: keyof typeof seasonFactors) => factorOf(alone as SeasonFit, factor).variance;
    tables = rTables(`
      p <- read.csv("${pairs}")
      za <- p$a / ${seen[0]!.spread} / p$ra; ea <- 1 + (1 - p$ra) / p$ra
      zb <- p$b / ${seen[1]!.spread} / p$rb; eb <- 1 + (1 - p$rb) / p$rb
      za <- za - weighted.mean(za, 1 / ea); zb <- zb - weighted.mean(zb, 1 / eb)
      logs <- function(r) sum(sapply(seq_along(za), function(i) {
        # y given x is normal: the density as a product of two of R's own.
        dnorm(za[i], 0, sqrt(ea[i]), log = TRUE) +
          dnorm(zb[i], r * za[i] / ea[i], sqrt(eb[i] - r^2 / ea[i]), log = TRUE)
      }))
      top <- optimize(logs, c(0, 1), maximum = TRUE)$objective
      d <- Vectorize(function(r) exp(logs(r) - top))
      i <- function(f) integrate(f, 0, 1, rel.tol = 1e-10)$value
      whole <- i(d); m <- i(function(r) r * d(r)) / whole; s <- i(function(r) r^2 * d(r)) / whole
      table("correlation", data.frame(m, sqrt(s - m^2)))

      x <- read.csv("${file}")
      X <- model.matrix(~ 0 + where, x)
      V <- diag(x$v)
      G <- list(official = ${variance('official')}, observer = ${variance('observer')}, game = ${variance('game')},
                inPosition = ${variance('observerInPosition')}, evening = ${variance('officialInGame')})
      Z <- list()
      for (f in names(G)) {
        levels <- setdiff(unique(x[[f]]), "none")
        Z[[f]] <- sapply(levels, function(l) as.numeric(x[[f]] == l))
        V <- V + G[[f]] * Z[[f]] %*% t(Z[[f]])
      }
      W <- solve(V); C <- solve(t(X) %*% W %*% X)
      beta <- C %*% t(X) %*% W %*% x$y
      u <- G$official * t(Z$official) %*% W %*% (x$y - X %*% beta)
      P <- W - W %*% X %*% C %*% t(X) %*% W
      pev <- G$official * diag(ncol(Z$official)) - G$official^2 * t(Z$official) %*% P %*% Z$official
      table("official", data.frame(colnames(Z$official), as.vector(u), sqrt(diag(pev))))
    `);
  });

  test('takes in who served in both, and leaves how much people differ as this season has it', () => {
    expect(taken).toMatchObject({ officials: 18, newcomers: 4, reason: null });
    for (const [at, { variance }] of both.factors.entries())
      expect(variance).toBeCloseTo(alone.factors[at]!.variance, 9);
    expect(both.residualVariance).toBeCloseTo(alone.residualVariance, 9);
    expect(factorOf(alone, 'official').variance).toBeGreaterThan(0.001);
  });

  test('the correlation over seasons is R’s', () => {
    const [mean, error] = tables.correlation![0] as [number, number];
    expect(taken.correlation).toBeCloseTo(mean, 4);
    expect(taken.correlationError).toBeCloseTo(error, 4);
    expect(mean).toBeGreaterThan(0.4);
  });

  test('officials’ effects and their errors are those of full matrices', () => {
    const { levels, effects } = factorOf(both, 'official');
    expect(tables.official).toHaveLength(22);
    let moved = 0;
    for (const [official, effect, error] of tables.official as [string, number, number][]) {
      const at = levels.indexOf(official);
      expect(effects[at]).toBeCloseTo(effect, 8);
      const { covariance } = predict(both, [
        { effects: [{ factor: seasonFactors.official, level: official }] },
      ]);
      expect(Math.sqrt(covariance[0]!)).toBeCloseTo(error, 8);
      const own = factorOf(alone, 'official');
      moved = Math.max(moved, Math.abs(effects[at]! - own.effects[own.levels.indexOf(official)]!));
    }
    // Otherwise nothing was borrowed, and nothing compared.
    expect(moved).toBeGreaterThan(0.01);
  });
});
