import { readFile } from 'node:fs/promises';
import { expect, it } from 'vitest';
import { fileKinds } from '../../server/imports/files/index.ts';

it('the README lists the files in their order with each column, needed ones in bold', async () => {
  const readme = await readFile(new URL('../../README.md', import.meta.url), 'utf8');
  const rows = [...readme.matchAll(/^\| `([a-z-]+)\.csv` \| (.*) \|$/gm)].map((row) => [row[1], row[2]]);
  const expected = fileKinds.map(({ format }) => {
    const columns = Object.values(format.columns);
    const needed = columns.filter((column) => !column.mayBeEmpty).map((column) => `**${column.heading}**`);
    const optional = columns.filter((column) => column.mayBeEmpty).map((column) => column.heading);
    return [format.name, [...needed, ...optional].join(', ')];
  });
  expect(rows).toEqual(expected);
});
