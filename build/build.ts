import { cp, mkdir, rm } from 'node:fs/promises';
import path from 'node:path';
import { writeBuiltAssets } from '../server/web/built-assets.ts';
import { makeAssets } from '../server/web/make-assets.ts';
import { programs, putTogether, root } from './put-together.ts';

// `npm run build`: everything that runs in production, in one folder that has the project's own layout: programs in
// server/, what they read beside it. It needs the packages of `npm ci --omit=dev` above it, and nothing of the sources.

const built = path.resolve(process.argv[2] ?? path.join(root, 'built'));

await rm(built, { recursive: true, force: true });
await mkdir(built, { recursive: true });
await Promise.all([
  putTogether(programs, path.join(built, 'server'), placeInBuilt),
  makeAssets().then((assets) => writeBuiltAssets(assets, path.join(built, 'server/web/built-assets'))),
  ...['package.json', 'LICENSE', 'templates', 'prisma/migrations'].map((name) =>
    cp(path.join(root, name), path.join(built, name), { recursive: true }),
  ),
]);
process.stdout.write(`Built into ${built}\n`);

/** Programs lie in server/ of the built folder, so from there a source's place is what it is in the project. */
function placeInBuilt(source: string): string {
  const fromRoot = path.relative(root, source).replaceAll(path.sep, '/');
  return `new URL(${JSON.stringify(`../${fromRoot}`)}, import.meta.url).href`;
}
