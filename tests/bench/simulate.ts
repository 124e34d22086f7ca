import { readFile, writeFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { parseArgs } from 'node:util';
import { models } from './seasons/models.ts';
import { type JobResult, runInProcesses } from './seasons/run.ts';
import { scenarios } from './seasons/shape.ts';
import { describeSummary, estimate, summarize } from './seasons/summary.ts';
import { describeFollowUpSimulation, simulateFollowUp } from './simulate-follow-up.ts';
import { describePatternSimulation, simulatePatterns } from './simulate-patterns.ts';

// npm run simulate -- [--seasons N] [--seed N] [--scenario NAME]... [--model NAME]... [--processes N] [--json FILE]
// [--against FILE]: grades seasons whose truth is known and prints how near the grades, ranks and intervals come; then
// how often patterns cry wolf, and what they find (the scenario `patterns`), and how development points are followed
// (`follow-up`). What --json wrote of another tree, --against
// compares with season by season.
const { values } = parseArgs({
  options: {
    seasons: { type: 'string', default: '100' },
    seed: { type: 'string', default: '1' },
    scenario: { type: 'string', multiple: true },
    model: { type: 'string', multiple: true },
    processes: { type: 'string', default: String(Math.min(4, availableParallelism())) },
    json: { type: 'string' },
    against: { type: 'string' },
  },
});
const [seasons, seed, processes] = [values.seasons, values.seed, values.processes].map(Number) as [
  number,
  number,
  number,
];
const wanted = values.scenario ?? [...Object.keys(scenarios), 'patterns', 'follow-up'];
const names = values.model ?? Object.keys(models);
refuse(!(Number.isInteger(seasons) && seasons >= 1), '--seasons must be a whole number of 1 or more.');
refuse(!Number.isInteger(seed), '--seed must be a whole number.');
refuse(!(Number.isInteger(processes) && processes >= 1), '--processes must be a whole number of 1 or more.');
refuseUnknown('scenario', wanted, [...Object.keys(scenarios), 'patterns', 'follow-up']);
refuseUnknown('model', names, Object.keys(models));

const before = values.against
  ? (JSON.parse(await readFile(values.against, 'utf8')) as Record<string, JobResult>)
  : undefined;
const seeds = Array.from({ length: seasons }, (_, at) => seed + at);
const all: Record<string, unknown> = {};
for (const scenario of wanted) {
  if (scenario === 'patterns') {
    // Patterns take longer a season; the shares they print settle with fewer.
    const patterns = simulatePatterns(Math.min(seasons, 100));
    console.log(describePatternSimulation(patterns));
    all.patterns = patterns;
  } else if (scenario === 'follow-up') {
    const followed = simulateFollowUp(Math.min(seasons, 100));
    console.log(describeFollowUpSimulation(followed));
    all[scenario] = followed;
  } else {
    console.log(`${scenario} (${seasons} seasons)`);
    const result = await runInProcesses({ scenario, models: names, seeds }, Math.min(processes, seasons));
    all[scenario] = result;
    for (const model of names) {
      console.log(describeSummary(model, summarize(result[model]!)));
      for (const [other, theirs] of Object.entries(before?.[scenario] ?? {})) {
        const both = Math.min(theirs.length, seasons);
        const gain = estimate(
          result[model]!.slice(0, both).map(({ rho }, at) =>
            rho === null || theirs[at]!.rho === null ? null : rho - theirs[at]!.rho,
          ),
        );
        const sign = gain.mean < 0 ? '' : '+';
        console.log(
          `             rho ${sign}${gain.mean.toFixed(3)}±${gain.standardError.toFixed(3)} against ${other} of ${values.against}, ${both} seasons`,
        );
      }
    }
  }
  // Written after each, so that a run cut short loses nothing.
  if (values.json) await writeFile(values.json, `${JSON.stringify(all)}\n`);
}

function refuse(bad: boolean, message: string): void {
  if (!bad) return;
  console.error(message);
  process.exit(2);
}

function refuseUnknown(what: string, given: readonly string[], known: readonly string[]): void {
  const unknown = given.filter((name) => !known.includes(name));
  refuse(unknown.length > 0, `No ${what} ${unknown.join(', ')}. There are: ${known.join(', ')}.`);
}
