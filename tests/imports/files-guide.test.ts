import { readFile } from 'node:fs/promises';
import { expect, it } from 'vitest';
import { fileKinds } from '../../server/imports/files/index.ts';

it('the guide to files lists the files in their order with each column, needed ones in bold', async () => {
  const guide = await readFile(new URL('../../docs/files.md', import.meta.url), 'utf8');
  const rows = [...guide.matchAll(/^\| `([a-z-]+)\.csv` \| (.*) \|$/gm)].map((row) => [row[1], row[2]]);
  const expected = fileKinds.map(({ format }) => {
    const columns = Object.values(format.columns);
    const needed = columns.filter((column) => !column.mayBeEmpty).map((column) => `**${column.heading}**`);
    const optional = columns.filter((column) => column.mayBeEmpty).map((column) => column.heading);
    return [format.name, [...needed, ...optional].join(', ')];
  });
  expect(rows).toEqual(expected);
});
