import { randomInt } from 'node:crypto';
import { once } from 'node:events';
import { writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import path from 'node:path';

/**
 * A port of 127.0.0.1 for one test alone: nobody listens there, no other test of the run was given it, and it lies
 * below those that systems hand out by themselves, so that it stays free while what listens there is down.
 */
export async function ownPort(): Promise<number> {
  for (let tries = 0; tries < 100; tries++) {
    const port = randomInt(20_000, 30_000);
    if ((await isReserved(port)) && (await isFree(port))) return port;
  }
  throw new Error('None of 100 ports between 20,000 and 30,000 is free.');
}

/** For this test, by a file in the run's folder that only one can make. */
async function isReserved(port: number): Promise<boolean> {
  const run = process.env.CREWMARK_TEST_RUN;
  if (!run) return true;
  return writeFile(path.join(run, `port-${port}`), '', { flag: 'wx' }).then(
    () => true,
    () => false,
  );
}

async function isFree(port: number): Promise<boolean> {
  const probe = createServer().listen(port, '127.0.0.1');
  try {
    await once(probe, 'listening');
  } catch {
    return false;
  }
  probe.close();
  await once(probe, 'close');
  return true;
}
