/** Writes the demo season as CSV files: `node --import tsx seed-demo/write-files.ts FOLDER`. */
import { mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { demoFiles } from './files.ts';
import { makeDemoSeason } from './season.ts';

const folder = process.argv[2];
if (folder === undefined) {
  process.stderr.write('Name the folder to write to: node --import tsx seed-demo/write-files.ts FOLDER\n');
  process.exit(2);
}
const season = makeDemoSeason();
await mkdir(folder, { recursive: true });
for (const { name, text } of demoFiles(season)) await writeFile(path.join(folder, `${name}.csv`), text);
await writeFile(path.join(folder, 'truth.json'), `${JSON.stringify(season.truth, null, 2)}\n`);
process.stdout.write(`Wrote the demo season to ${folder}\n`);
