import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { deserialize, serialize } from 'node:v8';
import { type DemoSeason, makeDemoSeason } from '../../seed-demo/season.ts';

let season: DemoSeason | undefined;

/** The invented season, made once for all processes of a run (five seconds of one's time): to be read, not changed. */
export function demoSeason(): DemoSeason {
  season ??= madeByAnother() ?? madeHere();
  return season;
}

const file = () => path.join(process.env.CREWMARK_TEST_RUN!, 'demo-season');

function madeByAnother(): DemoSeason | undefined {
  try {
    return deserialize(readFileSync(file()));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}

function madeHere(): DemoSeason {
  const made = makeDemoSeason();
  const own = `${file()}-${process.pid}`;
  writeFileSync(own, serialize(made));
  renameSync(own, file()); // whole, or not there
  return made;
}
