// Writes the Prisma client into server/database/generated. Generating needs no schema engine, so the engine's
// download is skipped by naming any executable in its place; this also works on a machine without network.
import { spawnSync } from 'node:child_process';
import { createRequire } from 'node:module';

const cli = commandLine();
// Without the packages for development (npm ci --omit=dev) there is nothing to write: what was built has the client.
if (cli === null) process.exit(0);
const result = spawnSync(process.execPath, [cli, 'generate', '--no-hints'], {
  env: { PRISMA_SCHEMA_ENGINE_BINARY: process.execPath, ...process.env, PRISMA_HIDE_UPDATE_MESSAGE: '1' },
  encoding: 'utf8',
});
if (result.status !== 0) {
  process.stderr.write(`${result.stdout}\n${result.stderr}\n`);
  process.exit(result.status ?? 1);
}

function commandLine() {
  try {
    return createRequire(import.meta.url).resolve('prisma/build/index.js');
  } catch {
    return null;
  }
}
