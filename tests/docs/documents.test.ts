import { existsSync } from 'node:fs';
import { readdir, readFile } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { settingNames } from '../../server/config.ts';

// What the documents tell people to type, to set and to open is there.

const root = fileURLToPath(new URL('../..', import.meta.url));
const documents = [
  'README.md',
  'DEVELOPERS.md',
  ...(await readdir(`${root}/docs`)).filter((name) => name.endsWith('.md')).map((name) => `docs/${name}`),
];
const textOf = (document: string) => readFile(resolve(root, document), 'utf8');
const { scripts } = JSON.parse(await textOf('package.json')) as { scripts: Record<string, string> };

/** As headings are made into anchors where Markdown is shown as pages: small letters, words joined, signs left out. */
const anchorOf = (heading: string) =>
  heading
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N} _-]/gu, '')
    .replaceAll(' ', '-');

describe.each(documents)('%s', (document) => {
  test('names commands that are there', async () => {
    const named = [...(await textOf(document)).matchAll(/npm (?:run ([a-z:-]+)|(start|test)\b)/g)].map(
      ([, run, short]) => run ?? short!,
    );
    expect(named.filter((name) => !(name in scripts))).toEqual([]);
  });

  test('leads to files and headings that are there', async () => {
    const text = await textOf(document);
    const targets = [...text.matchAll(/\]\((?!https?:|mailto:)([^)\s]+)\)/g)].map(([, target]) => target!);
    const broken: string[] = [];
    for (const target of targets) {
      const [path, anchor] = target.split('#') as [string, string | undefined];
      const file = path === '' ? document : resolve(root, dirname(document), path);
      if (path !== '' && !existsSync(file)) broken.push(target);
      else if (anchor) {
        const headings = [...(await textOf(file)).matchAll(/^#+ (.*)$/gm)].map(([, heading]) =>
          anchorOf(heading!),
        );
        if (!headings.includes(anchor)) broken.push(target);
      }
    }
    expect(broken).toEqual([]);
  });
});

test('every picture of the documents is shown in one of them', async () => {
  const all = (await Promise.all(documents.map(textOf))).join('\n');
  const pictures = await readdir(`${root}/docs/pictures`);
  expect(pictures.filter((name) => !all.includes(`pictures/${name}`))).toEqual([]);
});

test('the guide for running it lists every setting, and none that does not exist', async () => {
  const rows = [...(await textOf('docs/running.md')).matchAll(/^\| ((?:`[A-Z_]+`(?:, )?)+) \|/gm)];
  const listed = rows.flatMap(([, names]) => [...names!.matchAll(/`([A-Z_]+)`/g)].map(([, name]) => name!));
  expect(listed.sort()).toEqual(settingNames.toSorted());
});
