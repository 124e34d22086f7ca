import { readFileSync } from 'node:fs';

const file = readFileSync(new URL('../package.json', import.meta.url), 'utf8');

/** The program's version, as package.json has it. */
export const version: string = JSON.parse(file).version;
