import { mkdir, symlink } from 'node:fs/promises';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { putTogether, root, programs as shipped } from '../../build/put-together.ts';
import { writeBuiltAssets } from '../../server/web/built-assets.ts';
import { makeAssets } from '../../server/web/make-assets.ts';
import { onceARun } from './once-a-run.ts';

/** What tests start as processes of their own, named from the project's root. */
const programs = [...shipped, 'tests/letters/letter-process.ts', 'tests/support/start-embedded.ts'] as const;

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

/**
 * Puts the programs, the server's threads and what browsers load together for a run of tests, which finds them by its
 * environment.
 */
export default async function setup() {
  const made = await onceARun('programs', async () => {
    const folder = path.join(process.env.CREWMARK_TEST_RUN!, 'programs');
    await mkdir(folder);
    await symlink(path.join(root, 'node_modules'), path.join(folder, 'node_modules'));
    const here = pathToFileURL(path.join(folder, 'start.mjs')).href;
    await Promise.all([
      // They find templates and such where the source lies, what browsers load beside themselves.
      putTogether(programs, folder, (source) =>
        JSON.stringify(path.basename(source) === 'built-assets.ts' ? here : pathToFileURL(source).href),
      ),
      makeAssets().then((assets) => writeBuiltAssets(assets, path.join(folder, 'built-assets'))),
    ]);
    process.env.CREWMARK_TEST_PROGRAMS = folder;
    process.env.CREWMARK_TEST_BUILT = here;
    return { end: async () => {} };
  });
  return made.leave;
}
