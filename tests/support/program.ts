import { readFile, symlink } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'esbuild';
import { folderInRun } from './test-run.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const started = new Map<string, Promise<string>>();

/**
 * Node's arguments that start a program of this project, named from its root (`server/start.ts`). In a run of tests its
 * files are put together in one first: loaded one by one, as `npm start` does it, they take three times the processor
 * time, at each start anew. Tests of the start itself (`tests/start`) do without.
 */
export async function program(file: string): Promise<string[]> {
  if (!process.env.CREWMARK_TEST_RUN) return ['--import', 'tsx', path.join(root, file)];
  if (!started.has(file)) started.set(file, putTogether(path.join(root, file)));
  return [await started.get(file)!];
}

async function putTogether(file: string): Promise<string> {
  const outdir = await folderInRun('program');
  await symlink(path.join(root, 'node_modules'), path.join(outdir, 'node_modules'));
  await build({
    entryPoints: [file],
    outdir,
    outExtension: { '.js': '.mjs' },
    bundle: true,
    splitting: true, // what is imported later is loaded later
    platform: 'node',
    target: 'node20',
    format: 'esm',
    keepNames: true,
    packages: 'external',
    plugins: [
      {
        name: 'as if loaded from where it lies',
        setup({ onLoad }) {
          onLoad({ filter: /\.ts$/ }, async ({ path: from }) => ({
            loader: 'ts',
            contents: (await readFile(from, 'utf8')).replaceAll(
              'import.meta.url',
              JSON.stringify(pathToFileURL(from).href),
            ),
          }));
        },
      },
    ],
  });
  return path.join(outdir, `${path.basename(file, '.ts')}.mjs`);
}
