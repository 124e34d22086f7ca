import { type ClipWorld, clipWorlds, gradeWithClips, strictnessError } from './seasons/clip-worlds.ts';
import type { SeasonMeasures } from './seasons/measures.ts';
import { estimate } from './seasons/summary.ts';

// node --import tsx tests/bench/simulate-clips.ts [N]: what marks of clips do to severity and grades, over N seasons (100) of
// each world, without and with; then how much surer strictness becomes with 10, 20 and 40 clips.
const seasons = Number(process.argv[2] ?? 100);
if (!(Number.isInteger(seasons) && seasons >= 2)) {
  console.error('Give a number of seasons of 2 or more.');
  process.exit(2);
}
const seeds = Array.from({ length: seasons }, (_, at) => at + 1);
const text = (values: readonly (number | null)[]) => {
  const { mean, standardError } = estimate(values);
  return `${mean.toFixed(3)}±${standardError.toFixed(3)}`;
};
const said = [
  ['severityError', 'severity: error'],
  ['severityCoverage', 'held'],
  ['severityWidth', 'width'],
  ['error', 'grades: error'],
  ['coverage', 'held'],
  ['rho', 'rho'],
  ['rankCoverage', 'ranks held'],
] as const satisfies readonly (readonly [keyof SeasonMeasures, string])[];

for (const world of Object.keys(clipWorlds) as ClipWorld[]) {
  console.log(`${world} (${seasons} seasons)`);
  for (const model of ['linear', 'counts'] as const) {
    const graded = gradeWithClips(world, model, seeds);
    for (const [way, of] of Object.entries(graded)) {
      const figures = said.map(([name, words]) => `${words} ${text(of.map((one) => one[name]))}`);
      console.log(`  ${model.padEnd(7)} ${way.padEnd(8)} ${figures.join('; ')}`);
    }
    const gains = (['severityError', 'error', 'rho'] as const).map(
      (name) => `${name} ${text(graded.with.map((one, at) => one[name]! - graded.without[at]![name]!))}`,
    );
    console.log(`  ${model.padEnd(7)} gain     ${gains.join('; ')}`);
  }
}
for (const clips of [0, 10, 20, 40])
  console.log(`strictness with ${clips} clips: error ${strictnessError(clips, seeds).toFixed(3)}`);
