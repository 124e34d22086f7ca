import { readFileSync } from 'node:fs';
import { fitMixedModel } from '../../server/grading/mixed-model.ts';

// node --import tsx tests/bench/insteval-fit.ts FILE: three fits of the ratings in FILE (rating, then each factor's level),
// their seconds, memory and criterion as JSON. Run by insteval-reml.ts in a process of its own.
const rows = readFileSync(process.argv[2]!, 'utf8')
  .trim()
  .split('\n')
  .map((line) => line.split(',').map(Number));
const response = Float64Array.from(rows, (row) => row[0]!);
const factors = rows[0]!.slice(1).map((_, k) => ({
  name: `factor ${k}`,
  levels: Int32Array.from(rows, (row) => row[k + 1]!),
}));
const before = process.memoryUsage.rss();
const seconds: number[] = [];
let criterion = Number.NaN;
for (let i = 0; i < 3; i += 1) {
  const started = performance.now();
  const fit = fitMixedModel({ response, factors });
  seconds.push((performance.now() - started) / 1000);
  if (fit.fitted && fit.criterion !== null) criterion = fit.criterion;
}
const memory = (process.resourceUsage().maxRSS * 1024 - before) / 2 ** 20;
console.log(JSON.stringify({ seconds, memory, criterion }));
