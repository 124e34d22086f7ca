/** `npm run faults -- [--kills N] [--requests M] [--json FILE]`: what a bad evening does to the program. */
import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import { findFaults } from './faults.ts';

const { values } = parseArgs({
  options: { kills: { type: 'string' }, requests: { type: 'string' }, json: { type: 'string' } },
});
const number = (text: string | undefined, otherwise: number, most: number) => {
  const value = text === undefined ? otherwise : Number(text);
  if (!Number.isInteger(value) || value < 0 || value > most)
    throw new Error(`Give a number from 0 to ${most}.`);
  return value;
};
const wanted = {
  kills: number(values.kills, 20, 10_000),
  requests: number(values.requests, 2000, 10_000_000),
};
const say = (line: string) => process.stdout.write(`${line}\n`);

const { figures, killing, asking, diskTried } = await findFaults(wanted, say);
say(`Disturbances: ${JSON.stringify(killing.kinds)}${diskTried ? '' : ' (a full disk was not tried)'}`);
say(`Answers to devices: ${JSON.stringify(killing.statuses)}`);
say(`Answers to requests: ${JSON.stringify(asking.statuses)}`);
for (const line of [...killing.notes, ...asking.notes]) say(`  ${line}`);
say(JSON.stringify(figures));
if (values.json) await writeFile(values.json, `${JSON.stringify(figures, null, 2)}\n`);
const { lost, duplicated, startFailures, serverErrors, foreign } = figures;
process.exitCode = lost + duplicated + startFailures + serverErrors + foreign === 0 ? 0 : 1;
