import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { benchmarks } from './benchmarks.ts';
import type { Measurement } from './measurement.ts';

// npm run bench -- [--only NAME]... [--json FILE]: runs the named benchmarks, or all, prints their figures
// and writes them as an array of { name, value, unit, against, ratio }.
const { values } = parseArgs({
  options: { only: { type: 'string', multiple: true }, json: { type: 'string' } },
});
const names = values.only ?? Object.keys(benchmarks);
const unknown = names.filter((name) => !Object.hasOwn(benchmarks, name));
if (unknown.length > 0) {
  console.error(`No benchmark ${unknown.join(', ')}. There are: ${Object.keys(benchmarks).join(', ')}.`);
  process.exit(2);
}

const all: Measurement[] = [];
for (const name of names) {
  console.log(name);
  try {
    const figures = await benchmarks[name]!();
    for (const figure of figures) console.log(`  ${line(figure)}`);
    all.push(...figures);
  } catch (error) {
    console.error(`  failed: ${error instanceof Error ? error.message : error}`);
    process.exitCode = 1;
  }
  // Written after each, so that a later failure loses nothing.
  if (values.json) await writeFile(values.json, `${JSON.stringify(all, null, 2)}\n`);
}

function line({ name, value, unit, against, ratio }: Measurement): string {
  const beside =
    against === null ? '' : `, beside ${against}${ratio === null ? '' : `: ratio ${short(ratio)}`}`;
  return `${name}: ${short(value)} ${unit}${beside}`;
}

function short(value: number): string {
  return Number.isInteger(value) ? String(value) : Number(value.toPrecision(4)).toString();
}
