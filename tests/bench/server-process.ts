import { type ChildProcess, execFileSync, spawn } from 'node:child_process';

/** The program in a process of its own on that database, without the demo being loaded. */
export async function startServer(databaseUrl: string): Promise<{ child: ChildProcess; address: string }> {
  const child = spawn(process.execPath, ['--import', 'tsx', 'server/start.ts'], {
    env: { ...process.env, DATABASE_URL: databaseUrl, DEMO: 'off', PORT: '0', HOST: '127.0.0.1' },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let output = '';
  const address = await new Promise<string>((resolve, reject) => {
    child.stdout!.on('data', (chunk) => {
      output += chunk;
      const found = /ready at (http\S+)/.exec(output)?.[1];
      if (found) resolve(found);
    });
    child.once('close', () => reject(new Error('The server ended before it was ready.')));
  });
  return { child, address };
}

export async function stop(child: ChildProcess): Promise<void> {
  const gone = new Promise((resolve) => child.once('close', resolve));
  child.kill('SIGTERM');
  await gone;
}

/** Megabytes of memory that the process holds, as the system sees it. */
export function memoryOf(child: ChildProcess): number {
  return Number(execFileSync('ps', ['-o', 'rss=', '-p', String(child.pid)], { encoding: 'utf8' })) / 1024;
}
