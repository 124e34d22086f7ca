import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { describePatternSimulation, simulatePatterns } from './simulate-patterns.ts';
import { type SimulationResult, scenarios, simulate } from './simulation.ts';

// npm run simulate -- [--seasons N] [--seed N] [--json FILE]: grades seasons whose truth is known and prints
// how near the grades, ranks and intervals come; then how often patterns cry wolf, and what they find.
const { values } = parseArgs({
  options: {
    seasons: { type: 'string', default: '100' },
    seed: { type: 'string', default: '1' },
    json: { type: 'string' },
  },
});
const seasons = Number(values.seasons);
const seed = Number(values.seed);
if (!Number.isInteger(seasons) || seasons < 1 || !Number.isInteger(seed)) {
  console.error('--seasons must be a whole number of 1 or more, --seed a whole number.');
  process.exit(2);
}

const results: SimulationResult[] = [];
for (const [name, shape] of Object.entries(scenarios)) {
  const result = simulate(name, shape, seasons, seed);
  results.push(result);
  const percent = (value: number) => `${(100 * value).toFixed(1)}%`;
  console.log(`${name} (${seasons} seasons)
  rank correlation with the truth: raw ${result.rawCorrelation.toFixed(3)}, adjusted ${result.adjustedCorrelation.toFixed(3)} (higher in ${percent(result.adjustedBetter)} of seasons)
  error of a grade, points: raw ${result.rawError.toFixed(2)}, adjusted ${result.adjustedError.toFixed(2)}
  truth inside 90% intervals: grade ${percent(result.coverage)}, rank ${percent(result.rankCoverage)}, severity ${percent(result.severityCoverage)}
  chance of the top two, mean squared error: ${result.topError.toFixed(3)} (even chance for all: ${result.topErrorOfEvenChance.toFixed(3)})
  ranked across groups that cannot be compared: ${result.rankedAcrossGroups}`);
}
// Patterns take longer a season; the shares they print settle with fewer.
const patterns = simulatePatterns(Math.min(seasons, 100));
console.log(describePatternSimulation(patterns));
if (values.json) {
  const all = [...results, { name: 'patterns', ...patterns }];
  await writeFile(values.json, `${JSON.stringify(all, null, 2)}\n`);
}
