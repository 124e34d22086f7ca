import { readdir, readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const files = (await readdir(`${root}/server`, { recursive: true }))
  .map((file) => file.replaceAll('\\', '/'))
  .filter((file) => file.endsWith('.ts') && !file.startsWith('database/generated/'));
const textOf = (file: string) => readFile(`${root}/server/${file}`, 'utf8');
const holding = async (among: readonly string[], what: RegExp) => {
  const found: string[] = [];
  for (const file of among) if (what.test(await textOf(file))) found.push(file);
  return found.sort();
};

const asksPrisma =
  /\bprisma\s*\.\s*[a-z]\w*\s*\.\s*(find|count|aggregate|groupBy|create|update|upsert|delete)/;

test('pages and routes ask stores, and never the database', async () => {
  const shown = files.filter((file) => /(^|\/)pages\/|(pages|routes|-view)\.ts$/.test(file));
  expect(shown.length).toBeGreaterThan(200);
  // What a transaction is, and whether the database answers, is no question about rows.
  const asks = /\.query(<[^;]*?>)?\(\s*(\{|[`'"](?!SET TRANSACTION|BEGIN|COMMIT|ROLLBACK))/;
  expect(await holding(shown, asks)).toEqual(['health-routes.ts']);
  expect(await holding(shown, asksPrisma)).toEqual([]);
});

test('routes are in files named for it, each of one resource and under 300 lines', async () => {
  const registers = /\b(app|api|pages|plain|routes)\.(get|post|put|patch|delete)\(\s*(['`]|\w+,\s*\{|path\b)/;
  const elsewhere = (await holding(files, registers)).filter((file) => !/(pages|routes)\.ts$/.test(file));
  // The description of all routes, and files that are made when the program starts.
  expect(elsewhere.sort()).toEqual(['api-description.ts', 'web/assets.ts']);
  const long: string[] = [];
  for (const file of files.filter((one) => /(pages|routes|plugin)\.ts$/.test(one)))
    if ((await textOf(file)).split('\n').length > 300) long.push(file);
  expect(long).toEqual([]);
});

test('the guide names every file that reads by Prisma, and no other', async () => {
  const guide = await readFile(`${root}/DEVELOPERS.md`, 'utf8');
  const paragraph = /\*\*A query\.\*\*([\s\S]*?)SQL, in a store, does the rest/.exec(guide)![1]!;
  const named = [...paragraph.matchAll(/`([\w/-]+\.ts)`/g)].map(([, file]) => file!);
  expect(named.sort()).toEqual(await holding(files, asksPrisma));
});

test('pages write every moment and day in a zone: the conference’s, the venue’s, or none for a day of the calendar', async () => {
  const folder = `${root}/templates/pages`;
  const templates = (await readdir(folder, { recursive: true })).filter((file) => file.endsWith('.hbs'));
  const without: string[] = [];
  for (const file of templates)
    for (const [words] of (await readFile(`${folder}/${file}`, 'utf8')).matchAll(
      /\{\{(moment|day) [^\s}]+\s*\}\}/g,
    ))
      without.push(`${file}: ${words}`);
  expect(templates.length).toBeGreaterThan(100);
  expect(without).toEqual([]);
});
