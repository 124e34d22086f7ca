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
  logLikelihood: number;
}

/**
 * The count model on VerbAgg (7,584 answers of 316 persons to 24 items), ours and lme4's `glmer` one after the other
 * on the same machine, each in a process of its own with the data already loaded.
 */
export async function countModel(): Promise<Measurement[]> {
  const folder = await mkdtemp(join(tmpdir(), 'verbagg-'));
  try {
    const data = join(folder, 'verbagg.csv');
    const theirs = JSON.parse((await run('Rscript', ['--vanilla', '-e', script(data)])).stdout) as Fits;
    const fit = new URL('count-model-fit.ts', import.meta.url).pathname;
    const ours = JSON.parse((await run(process.execPath, ['--import', 'tsx', fit, data])).stdout) as Fits;
    const beside = (what: string, value: number, other: number, unit: string): Measurement => ({
      name: `count-model: ${what}`,
      value,
      unit,
      against: `lme4 glmer, ${Number(other.toPrecision(7))} ${unit}`,
      ratio: value / other,
    });
    return [
      beside('time of the first fit in a process', ours.seconds[0]!, theirs.seconds[0]!, 's'),
      beside('time of a fit, median', median(ours.seconds), median(theirs.seconds), 's'),
      beside('log-likelihood', ours.logLikelihood, theirs.logLikelihood, ''),
    ];
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function median(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!;
}

function script(data: string): string {
  return `
    suppressMessages(library(lme4))
    write.table(data.frame(as.integer(VerbAgg$r2 == "Y"), as.integer(VerbAgg$id), as.integer(VerbAgg$item)), ${JSON.stringify(data)}, sep = ",", row.names = FALSE, col.names = FALSE)
    seconds <- sapply(1:3, function(i) system.time(m <<- glmer(r2 ~ 1 + (1 | id) + (1 | item), VerbAgg, binomial))["elapsed"])
    cat(sprintf('{"seconds":[%s],"logLikelihood":%f}', paste(seconds, collapse = ","), as.numeric(logLik(m))))
  `;
}
