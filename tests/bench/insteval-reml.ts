import { execFile } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import type { Measurement } from './measurement.ts';

const run = promisify(execFile);

interface Fits {
  /** Seconds of each fit, the first from cold. */
  seconds: number[];
  /** By how much the process's peak resident memory grew over the fits, MB. */
  memory: number;
  criterion: number;
}

/**
 * The crossed mixed model on InstEval (73,421 ratings, 2,972 raters, 1,128 rated), ours and lme4's `lmer`
 * one after the other on the same machine, each in a process of its own with the data already loaded.
 */
export const instevalReml = (): Promise<Measurement[]> => besideLme4('insteval-reml', ['s', 'd']);

/** The same with departments (14) as a third crossed factor. */
export const instevalThree = (): Promise<Measurement[]> => besideLme4('insteval-three', ['s', 'd', 'dept']);

async function besideLme4(name: string, factors: readonly string[]): Promise<Measurement[]> {
  const folder = await mkdtemp(join(tmpdir(), 'insteval-'));
  try {
    const data = join(folder, 'insteval.csv');
    const theirs = JSON.parse(
      (await run('Rscript', ['--vanilla', '-e', script(data, factors)])).stdout,
    ) as Fits;
    const fit = new URL('insteval-fit.ts', import.meta.url).pathname;
    const ours = JSON.parse((await run(process.execPath, ['--import', 'tsx', fit, data])).stdout) as Fits;
    const beside = (what: string, value: number, other: number, unit: string): Measurement => ({
      name: `${name}: ${what}`,
      value,
      unit,
      against: `lme4 lmer, ${Number(other.toPrecision(4))} ${unit}`,
      ratio: value / other,
    });
    return [
      beside('time of the first fit in a process', ours.seconds[0]!, theirs.seconds[0]!, 's'),
      beside('time of a fit, median of three', median(ours.seconds), median(theirs.seconds), 's'),
      beside('memory', ours.memory, theirs.memory, 'MB'),
      beside('REML criterion', ours.criterion, theirs.criterion, ''),
    ];
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function median(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!;
}

function script(data: string, factors: readonly string[]): string {
  const levels = factors.map((factor) => `as.integer(InstEval$${factor})`).join(', ');
  const model = ['y ~ 1', ...factors.map((factor) => `(1 | ${factor})`)].join(' + ');
  return `
    suppressMessages(library(lme4))
    memory <- function(field) as.numeric(gsub("[^0-9]", "", grep(field, readLines("/proc/self/status"), value = TRUE))) / 1024
    write.table(data.frame(InstEval$y, ${levels}), ${JSON.stringify(data)}, sep = ",", row.names = FALSE, col.names = FALSE)
    invisible(gc())
    before <- memory("VmRSS")
    seconds <- sapply(1:3, function(i) system.time(m <<- lmer(${model}, InstEval))["elapsed"])
    cat(sprintf('{"seconds":[%s],"memory":%f,"criterion":%.9f}', paste(seconds, collapse = ","), memory("VmHWM") - before, REMLcrit(m)))
  `;
}
