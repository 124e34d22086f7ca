import { readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';

interface Package {
  dependencies: Record<string, string>;
  devDependencies: Record<string, string>;
}
interface Locked {
  version?: string;
  license?: string;
  dev?: boolean;
  link?: boolean;
}

const read = (file: string) => readFileSync(path.join(import.meta.dirname, '../..', file), 'utf8');
const { dependencies, devDependencies } = JSON.parse(read('package.json')) as Package;

test('each package has its reason, in production and for development', () => {
  const [production, development] = read('docs/dependencies.md').split('## For development') as [
    string,
    string,
  ];
  const listed = (part: string) => [...part.matchAll(/^\| `([^`]+)` \| \S.* \|$/gm)].map(([, name]) => name!);
  const real = (packages: Record<string, string>) =>
    Object.keys(packages).filter((name) => !name.startsWith('@types/'));
  expect(listed(production)).toEqual(real(dependencies));
  expect(listed(development)).toEqual(real(devDependencies));
});

// Licences that let a program be passed on without its source: by their SPDX identifiers (https://spdx.org/licenses/).
const permissive = new Set([
  '0BSD',
  'Apache-2.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'BlueOak-1.0.0',
  'ISC',
  'MIT',
  'MIT-0',
  'OFL-1.1',
  'Unlicense',
]);
/** The Mozilla Public License 2.0 asks for the source of its own files where they are changed (sections 1.10 and 3.2). */
const usedUnchanged = (name: string, license: string) => license === 'MPL-2.0' && name.startsWith('@resvg/');
/** Packages whose lock names no licence: what their own files say. */
const saidElsewhere: Record<string, { version: string; license: string }> = {
  'combine-errors': { version: '3.0.3', license: 'MIT' },
  jstat: { version: '1.9.6', license: 'MIT' },
  'png-js': { version: '2.0.0', license: 'MIT' },
};

test('nothing that production installs is copyleft', () => {
  const { packages } = JSON.parse(read('package-lock.json')) as { packages: Record<string, Locked> };
  const installed = Object.entries(packages).filter(
    ([place, { dev, link }]) => place !== '' && !dev && !link,
  );
  expect(installed.length).toBeGreaterThan(100);
  const wrong = installed.flatMap(([place, { version, license }]) => {
    const name = place.split('node_modules/').at(-1)!;
    const known = saidElsewhere[name];
    const said = license ?? (known?.version === version ? known?.license : undefined);
    return said?.split(/ and /i).every((one) => permissive.has(one) || usedUnchanged(name, one))
      ? []
      : [`${name} ${version}: ${said}`];
  });
  expect(wrong).toEqual([]);
});
