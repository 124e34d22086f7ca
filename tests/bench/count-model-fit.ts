import { readFileSync } from 'node:fs';
import { fitCountModel } from '../../server/grading/count-model/count-model.ts';

// node --import tsx tests/bench/count-model-fit.ts FILE: fits of the answers in FILE (answer, person, item), their
// seconds and log-likelihood as JSON. Run by count-model.ts in a process of its own.
const rows = readFileSync(process.argv[2]!, 'utf8')
  .trim()
  .split('\n')
  .map((line) => line.split(',').map(Number));
const response = Float64Array.from(rows, (row) => row[0]!);
const factors = ['person', 'item'].map((name, k) => ({
  name,
  levels: Int32Array.from(rows, (row) => row[k + 1]!),
}));
const seconds: number[] = [];
let logLikelihood = Number.NaN;
for (let i = 0; i < 7; i += 1) {
  const started = performance.now();
  const fit = fitCountModel({ family: 'binomial', response, factors });
  seconds.push((performance.now() - started) / 1000);
  if (fit.fitted && fit.criterion !== null) logLikelihood = fit.criterion / -2;
}
console.log(JSON.stringify({ seconds, logLikelihood }));
