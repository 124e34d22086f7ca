// Runs a program of the project, named by its source (`server/start.ts`): from that source where the loader of TypeScript
// is installed, else as `npm run build` left it. `--built`: never from the source.
import { existsSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const [built, file, ...rest] =
  process.argv[2] === '--built' ? process.argv.slice(2) : [undefined, ...process.argv.slice(2)];
const root = path.dirname(import.meta.dirname);
const source = path.join(root, file);
const asBuilt = path.join(root, 'built/server', `${path.basename(file, '.ts')}.mjs`);
const loader = built || !existsSync(source) ? undefined : await import('tsx/esm/api').catch(() => undefined);

process.argv.splice(1, process.argv.length, source, ...rest);
if (loader) {
  loader.register();
  await import(pathToFileURL(source).href);
} else if (existsSync(asBuilt)) {
  process.env.NODE_ENV ??= 'production';
  await import(pathToFileURL(asBuilt).href);
} else {
  process.stderr.write(
    'Nothing is built yet: run npm run build first, where all packages are installed (npm ci), and bring the folder built/ along.\n',
  );
  process.exitCode = 1;
}
