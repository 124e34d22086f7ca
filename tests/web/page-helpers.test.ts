import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { pageHelpers } from '../../server/web/render.ts';

// Handlebars asks a helper before it looks for a value of the same name: `{{chance}}` would call the helper `chance`
// with nothing and write a dash, on whatever page.

const folder = fileURLToPath(new URL('../../templates/pages', import.meta.url));
const templates = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) =>
  name.endsWith('.hbs'),
);

test('no template asks for a value by the name of a helper', () => {
  const names = Object.keys(pageHelpers).join('|');
  const asked = new RegExp(`\\{\\{\\{?\\s*(?:${names})\\s*\\}`, 'g');
  const wrong = templates.flatMap((name) =>
    [...readFileSync(path.join(folder, name), 'utf8').matchAll(asked)].map(([found]) => `${name}: ${found}`),
  );
  expect(templates.length).toBeGreaterThan(50);
  expect(wrong).toEqual([]);
});
