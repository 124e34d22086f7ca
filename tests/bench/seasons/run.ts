import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { measure, type SeasonMeasures, settingsOf } from './measures.ts';
import { models } from './models.ts';
import { drawSeason } from './season.ts';
import { scenarios } from './shape.ts';

/** Seasons of one scenario to grade by several models: the same seasons for each. */
export interface Job {
  scenario: string;
  models: readonly string[];
  /** Seeds of the seasons. */
  seeds: readonly number[];
}

/** Measures by model, in the order of the seeds. */
export type JobResult = Record<string, SeasonMeasures[]>;

export function runJob({ scenario, models: names, seeds }: Job): JobResult {
  const result: JobResult = Object.fromEntries(names.map((name) => [name, []]));
  for (const seed of seeds) {
    const { truth, ...season } = drawSeason(scenarios[scenario]!, seed);
    for (const name of names) result[name]!.push(measure(models[name]!(season, settingsOf(seed)), truth));
  }
  return result;
}

/** The same in several processes at once. */
export async function runInProcesses(job: Job, processes: number): Promise<JobResult> {
  if (processes < 2) return runJob(job);
  const shares = Array.from({ length: processes }, (_, at) =>
    job.seeds.filter((_seed, index) => index % processes === at),
  );
  const results = await Promise.all(shares.map((seeds) => runInProcess({ ...job, seeds })));
  return Object.fromEntries(
    job.models.map((name) => [
      name,
      job.seeds.map((_, index) => results[index % processes]![name]![Math.floor(index / processes)]!),
    ]),
  );
}

function runInProcess(job: Job): Promise<JobResult> {
  const child = fork(fileURLToPath(import.meta.url), { execArgv: ['--import', 'tsx'] });
  return new Promise((resolve, reject) => {
    child.once('message', (result) => resolve(result as JobResult));
    child.once('error', reject);
    child.once('exit', (code) => reject(new Error(`A process of the simulation ended with ${code}.`)));
    child.send(job);
  });
}

if (process.argv[1] === fileURLToPath(import.meta.url) && process.send) {
  process.once('message', (job) => {
    process.send!(runJob(job as Job), () => process.disconnect());
  });
}
