import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { type ClipMark, clipFactors, clipLevel, setColumn } from '../../server/grading/clip-marks.ts';
import { countRows } from '../../server/grading/count-model/count-rows.ts';
import {
  countFactors,
  countLevel,
  fitSeasonCounts,
  logit,
} from '../../server/grading/count-model/season-counts.ts';
import { groupBy } from '../../server/grading/group-by.ts';
import { predict } from '../../server/grading/prediction.ts';
import { fitSeason, levelOf, onScale, seasonFactors } from '../../server/grading/season-fit.ts';
import { type GradedGame, usableRows } from '../../server/grading/season-rows.ts';
import { rTables } from './r-tables.ts';

/**
 * Seasons with clips beside R's package lme4, which is given the same rows with no level at all where a factor does not
 * touch a row: its effects are slopes of a column that is 0 there. Ours have a level there that must not matter.
 */

const positions = ['referee', 'umpire', 'back judge'] as const;
const expit = (value: number) => 1 / (1 + Math.exp(-value));

/** 11 officials of three positions and six observers in 36 games; all but the last mark 18 clips in two sets. */
function season(): { reports: GradedGame[]; clips: ClipMark[] } {
  const draws = new Draws(20, 'clips beside lme4');
  const observers = ['Ash', 'Birch', 'Cedar', 'Elm', 'Fir', 'Hazel'];
  const severity = new Map(observers.map((observer) => [observer, draws.normal(0, 0.6)]));
  const officials = Array.from({ length: 11 }, (_, at) => ({
    name: `official ${at}`,
    position: positions[at % 3]!,
    skill: draws.normal(0, 0.5),
  }));
  const reports: GradedGame[] = [];
  for (let game = 0; game < 36; game += 1) {
    const hard = draws.normal(0, 0.4);
    for (const position of positions) {
      const own = officials.filter((one) => one.position === position);
      const official = own[(game * 7 + positions.indexOf(position)) % own.length]!;
      const evening = draws.normal(0, 0.3);
      for (const observer of new Set([
        observers[game % 6]!,
        ...(game % 2 ? [observers[(game + 2) % 5]!] : []),
      ])) {
        const chance = expit(-2.5 - official.skill + hard + evening + severity.get(observer)!);
        const opportunities = draws.integer(30, 50);
        let misses = 0;
        for (let at = 0; at < opportunities; at += 1) misses += Number(draws.unit() < chance);
        reports.push({
          official: official.name,
          position,
          game: `game ${game}`,
          observer,
          counts: [{ weight: 1, opportunities, met: opportunities - misses }],
        });
      }
    }
  }
  const clips: ClipMark[] = [];
  for (const [set, count] of [
    ['August', 12],
    ['October', 6],
  ] as const) {
    for (let clip = 1; clip <= count; clip += 1) {
      const position = positions[clip % 3]!;
      for (const item of ['one', 'other']) {
        const hard = draws.normal(-0.3, 1.2);
        for (const observer of observers.slice(0, 5)) {
          if (draws.unit() < 0.1) continue;
          const missed = draws.unit() < expit(hard + severity.get(observer)! + (set === 'August' ? 0.2 : 0));
          clips.push({ set, clip, item, position, observer, missed });
        }
      }
    }
  }
  return { reports, clips };
}

const folder = mkdtempSync(join(tmpdir(), 'clips-beside-lme4-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** Columns as a file that R reads; names of levels quoted. */
function written(name: string, columns: Record<string, (string | number)[]>): string {
  const names = Object.keys(columns);
  const rows = columns[names[0]!]!.map((_, row) =>
    names.map((column) => JSON.stringify(columns[column]![row])).join(','),
  );
  const file = join(folder, name);
  writeFileSync(file, `${[names.join(','), ...rows].join('\n')}\n`);
  return file;
}

const flat = (level: string) => level.replaceAll('\n', ' + ');
const { reports, clips } = season();
const none = (rows: readonly unknown[]) => rows.map(() => 'none');

describe('points added, with clips, beside lmer', () => {
  const usable = usableRows(reports, {});
  const fit = fitSeason(usable, undefined, clips);
  const alone = fitSeason(usable);
  if (!fit.fitted || !alone.fitted) throw new Error('not fitted');
  let tables: Record<string, unknown[][]>;
  beforeAll(() => {
    // A mark as `seasonRowsWithClips` says it is taken, put down anew.
    const units = groupBy(clips, clipLevel);
    const apart =
      [...units.values()].reduce((sum, unit) => {
        const share = unit.filter(({ missed }) => missed).length / unit.length;
        return sum + (unit.length * unit.length * share * (1 - share)) / (unit.length - 1);
      }, 0) / clips.length;
    const own = usable.map((row) => onScale(alone.usualLoss, row));
    const file = written('linear.csv', {
      y: [...own.map(({ response }) => response), ...clips.map(({ missed }) => (missed ? -1 / apart : 0))],
      w: [...own.map(({ weight }) => weight), ...clips.map(() => alone.residualVariance * apart)],
      g: [...usable.map(() => 1), ...clips.map(() => 0)],
      where: [...usable.map(({ position }) => position), ...clips.map(({ set }) => setColumn(set))],
      official: [...usable.map(levelOf.official), ...none(clips)],
      observer: [...usable.map(({ observer }) => observer), ...clips.map(({ observer }) => observer)],
      game: [...usable.map(levelOf.game), ...none(clips)],
      evening: [...usable.map((row) => flat(levelOf.officialInGame(row))), ...none(clips)],
      inPosition: [
        ...usable.map((row) => flat(levelOf.observerInPosition(row))),
        ...clips.map(({ observer, position }) => `${observer} + ${position}`),
      ],
      clip: [...none(usable), ...clips.map((mark) => flat(clipLevel(mark)))],
      film: [...none(usable), ...clips.map(({ observer }) => observer)],
    });
    tables = rTables(`
      suppressMessages(library(lme4))
      rows <- read.csv("${file}")
      rows$k <- 1 - rows$g
      m <- suppressMessages(lmer(y ~ 0 + where + (0 + g | official) + (1 | observer) + (0 + g | game) + (0 + g | evening) +
                  (1 | inPosition) + (0 + k | clip) + (0 + k | film), rows, weights = w,
                control = lmerControl(optCtrl = list(xtol_abs = 1e-10, xtol_rel = 1e-10, ftol_abs = 1e-12, ftol_rel = 1e-15))))
      table("summary", data.frame(REMLcrit(m), sigma(m)^2))
      table("variances", data.frame(names(VarCorr(m)), sapply(VarCorr(m), function(v) v[1])))
      table("fixed", data.frame(names(fixef(m)), fixef(m), sqrt(diag(as.matrix(vcov(m))))))
      for (f in c("observer", "clip", "film", "official"))
        table(f, data.frame(rownames(ranef(m, condVar = FALSE)[[f]]), ranef(m, condVar = FALSE)[[f]][, 1]))
    `);
  });

  const named: Record<string, string> = {
    official: seasonFactors.official,
    observer: seasonFactors.observer,
    game: seasonFactors.game,
    evening: seasonFactors.officialInGame,
    inPosition: seasonFactors.observerInPosition,
    clip: clipFactors.clip,
    film: clipFactors.observerOnFilm,
  };
  const factor = (name: string) => fit.factors.find((one) => one.name === named[name])!;

  test('the same criterion within a millionth, the same variances within a thousandth of the residual’s', () => {
    const [criterion, residual] = tables.summary![0] as [number, number];
    expect(Math.abs(fit.criterion! / criterion - 1)).toBeLessThan(1e-6);
    expect(Math.abs(fit.residualVariance / residual - 1)).toBeLessThan(1e-3);
    for (const [name, variance] of tables.variances as [string, number][]) {
      const bare = Object.keys(named).find((one) => name === one || name.startsWith(`${one}.`))!;
      expect(Math.abs(factor(bare).variance - variance) / Math.max(variance, 0.01), bare).toBeLessThan(2e-3);
    }
    // Otherwise an effect of nothing would have been compared with another.
    expect(factor('observer').variance).toBeGreaterThan(0.01);
    expect(factor('clip').variance).toBeGreaterThan(0.01);
  });

  test('the same effects of observers, clips and officials within a thousandth, and averages as sure', () => {
    for (const name of ['observer', 'clip', 'film', 'official']) {
      const { levels, effects } = factor(name);
      const ours = new Map(levels.map((level, at) => [flat(String(level)) || 'none', effects[at]!]));
      for (const [level, effect] of tables[name] as [string, number][])
        expect(Math.abs(ours.get(level)! - effect), `${name} ${level}`).toBeLessThan(1e-3);
      if (name !== 'observer') expect(Math.abs(ours.get('none')!)).toBeLessThan(1e-9);
    }
    for (const [column, estimate, error] of tables.fixed as [string, number, number][]) {
      const name = column.replace('where', '');
      const { estimates, covariance } = predict(fit, [{ fixed: { [name]: 1 } }]);
      expect(Math.abs(estimates[0]! - estimate), name).toBeLessThan(1e-3);
      expect(Math.abs(Math.sqrt(covariance[0]!) / error - 1), name).toBeLessThan(2e-3);
    }
  });
});

describe('misses counted, with clips, beside glmer', () => {
  const rows = countRows(reports);
  const fit = fitSeasonCounts(rows, clips);
  if (!fit.fitted) throw new Error(fit.reason);
  const sd = (name: string) => Math.sqrt(fit.factors.find((one) => one.name === name)!.variance);
  const named: Record<string, string> = {
    official: countFactors.official,
    observer: countFactors.observer,
    game: countFactors.game,
    evening: countFactors.officialInGame,
    inPosition: countFactors.observerInPosition,
    position: countFactors.classInPosition,
    clip: clipFactors.clip,
    film: clipFactors.observerOnFilm,
  };
  let tables: Record<string, unknown[][]>;
  beforeAll(() => {
    const file = written('counts.csv', {
      missed: [
        ...rows.map(({ lost, trials }) => Math.round(lost * trials)),
        ...clips.map(({ missed }) => Number(missed)),
      ],
      trials: [...rows.map(({ trials }) => Math.round(trials)), ...clips.map(() => 1)],
      off: [...rows.map(({ expected }) => logit(expected)), ...clips.map(() => 0)],
      g: [...rows.map(() => 1), ...clips.map(() => 0)],
      where: [...rows.map(() => 'games'), ...clips.map(({ set }) => setColumn(set))],
      official: [...rows.map(countLevel.official), ...none(clips)],
      observer: [...rows.map(({ observer }) => observer), ...clips.map(({ observer }) => observer)],
      game: [...rows.map(countLevel.game), ...none(clips)],
      evening: [...rows.map((row) => flat(countLevel.officialInGame(row))), ...none(clips)],
      inPosition: [
        ...rows.map((row) => flat(countLevel.observerInPosition(row))),
        ...clips.map(({ observer, position }) => `${observer} + ${position}`),
      ],
      position: [...rows.map(({ position }) => position), ...none(clips)],
      clip: [...none(rows), ...clips.map((mark) => flat(clipLevel(mark)))],
      film: [...none(rows), ...clips.map(({ observer }) => observer)],
    });
    // Laplace's approximation with the fixed effects integrated over too: glmer's penalised deviance and determinants at
    // given variances, which R minimises by a search of its own. Of positions the standard deviation is 1, as ours.
    tables = rTables(`
      suppressMessages(library(lme4))
      rows <- read.csv("${file}")
      rows$k <- 1 - rows$g
      given <- glFormula(cbind(missed, trials - missed) ~ 0 + where + offset(off) + (0 + g | official) + (1 | observer) +
        (0 + g | game) + (0 + g | evening) + (1 | inPosition) + (0 + g | position) + (0 + k | clip) + (0 + k | film), rows, binomial)
      deviance <- do.call(mkGlmerDevfun, given)
      inner <- environment(deviance)
      order <- sub("[.].*", "", names(given$reTrms$flist)[attr(given$reTrms$flist, "assign")])
      at <- function(sds) { value <- deviance(sds); value + inner$pp$ldRX2() }
      free <- order != "position"
      whole <- function(some) { all <- rep(1, length(order)); all[free] <- some; all }
      best <- nlminb(rep(0.3, sum(free)), function(some) at(whole(some)), lower = 0, control = list(rel.tol = 1e-12))
      ours <- c(${Object.entries(named)
        .map(([name, factor]) => `${name} = ${sd(factor)}`)
        .join(', ')})
      table("criterion", data.frame(at(ours[order]), best$objective))
      table("sds", data.frame(order[free], best$par))
      value <- at(ours[order])
      effects <- split(as.vector(inner$pp$Lambdat %*% inner$pp$u(1)), rep(seq_along(order), diff(given$reTrms$Gp)))
      for (f in c("observer", "clip", "film", "official")) {
        place <- which(order == f)
        table(f, data.frame(levels(given$reTrms$flist[[f]]), effects[[place]]))
      }
      table("fixed", data.frame(colnames(given$X), inner$pp$beta(1)))
    `);
  });

  test('variances at the minimum that R finds: the criterion within 0.003, standard deviations within 0.02', () => {
    const [ours, best] = tables.criterion![0] as [number, number];
    expect(ours - best).toBeLessThan(0.003);
    expect(ours - best).toBeGreaterThan(-1e-4);
    for (const [name, theirs] of tables.sds as [string, number][])
      expect(Math.abs(sd(named[name]!) - theirs), name).toBeLessThan(0.02);
    expect(sd(countFactors.observer)).toBeGreaterThan(0.1);
    expect(sd(clipFactors.clip)).toBeGreaterThan(0.5);
  });

  test('at these variances the same effects of observers, clips and officials within two thousandths', () => {
    for (const name of ['observer', 'clip', 'film', 'official']) {
      const { levels, effects } = fit.factors.find((one) => one.name === named[name])!;
      const ours = new Map(levels.map((level, at) => [flat(String(level)) || 'none', effects[at]!]));
      for (const [level, effect] of tables[name] as [string, number][])
        expect(Math.abs(ours.get(level)! - effect), `${name} ${level}`).toBeLessThan(2e-3);
    }
  });
});
