// Waits until the test run that started it is over, however it ended, and clears away what it left: the end of
// standard input says so, since the system closes that pipe even for a process that was killed.
import { readdir, readFile, readlink, rm } from 'node:fs/promises';
import path from 'node:path';

const folder = process.argv[2];
process.stdin.resume();
process.stdin.on('end', async () => {
  await endPrograms();
  for (const each of await readdir(folder)) await endPostgres(path.join(folder, each, 'postgres'));
  await rm(folder, { recursive: true, force: true, maxRetries: 50, retryDelay: 100 });
});

/** Workers, servers and browsers of the run are known by the run's folder in their environment (Linux only). */
async function endPrograms() {
  const processes = await readdir('/proc').catch(() => []);
  for (const pid of processes.filter((name) => /^\d+$/.test(name) && Number(name) !== process.pid)) {
    const environment = await readFile(`/proc/${pid}/environ`, 'utf8').catch(() => '');
    const program = await readlink(`/proc/${pid}/exe`).catch(() => '');
    if (!environment.split('\0').includes(`CREWMARK_TEST_RUN=${folder}`)) continue;
    if (!program.endsWith('/postgres')) end(Number(pid), 'SIGKILL');
  }
}

/** Ends the server of a data folder, whose pid file must name that folder, and the process must work in it. */
async function endPostgres(data) {
  const [pid, named] = (await readFile(path.join(data, 'postmaster.pid'), 'utf8').catch(() => '')).split(
    '\n',
  );
  if (!pid || named !== data) return;
  const worksIn = () => readlink(`/proc/${pid}/cwd`).catch(() => (process.platform === 'linux' ? '' : data));
  if ((await worksIn()) !== data) return;
  end(Number(pid), 'SIGQUIT');
  for (let tries = 0; tries < 100 && end(Number(pid), 0) && (await worksIn()) === data; tries++)
    await new Promise((resolve) => setTimeout(resolve, 100));
}

function end(pid, signal) {
  try {
    return process.kill(pid, signal);
  } catch {
    return false; // gone already
  }
}
