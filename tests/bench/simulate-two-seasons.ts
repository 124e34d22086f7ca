import type { SeasonMeasures } from './seasons/measures.ts';
import { estimate } from './seasons/summary.ts';
import { gradeWithSeasonBefore, type YearWorld, yearWorlds } from './seasons/two-seasons.ts';

// node --import tsx tests/bench/simulate-two-seasons.ts [N] [world]: what the season before does to grades, over N
// seasons (100) of each world, alone and with it.
const seasons = Number(process.argv[2] ?? 100);
if (!(Number.isInteger(seasons) && seasons >= 2)) {
  console.error('Give a number of seasons of 2 or more.');
  process.exit(2);
}
const worlds = process.argv[3] ? [process.argv[3] as YearWorld] : (Object.keys(yearWorlds) as YearWorld[]);
const seeds = Array.from({ length: seasons }, (_, at) => at + 1);
const text = (values: readonly (number | null)[]) => {
  const { mean, standardError } = estimate(values);
  return `${mean.toFixed(3)}±${standardError.toFixed(3)}`;
};
const said = [
  ['error', 'error'],
  ['coverage', 'held'],
  ['rho', 'rho'],
  ['rankCoverage', 'ranks held'],
  ['rankWidth', 'places'],
  ['severityCoverage', 'severity held'],
] as const satisfies readonly (readonly [keyof SeasonMeasures, string])[];

for (const world of worlds) {
  console.log(`${world} (${seasons} seasons)`);
  for (const model of ['linear', 'counts'] as const) {
    const { correlations, ...graded } = gradeWithSeasonBefore(world, model, seeds);
    for (const [way, of] of Object.entries(graded)) {
      const figures = said.map(([name, words]) => `${words} ${text(of.map((one) => one[name]))}`);
      console.log(`  ${model.padEnd(7)} ${way.padEnd(6)} ${figures.join('; ')}`);
    }
    const gains = (['error', 'rho', 'brier'] as const).map(
      (name) => `${name} ${text(graded.with.map((one, at) => one[name]! - graded.alone[at]![name]!))}`,
    );
    console.log(`  ${model.padEnd(7)} gain   ${gains.join('; ')}; correlation ${text(correlations)}`);
  }
}
