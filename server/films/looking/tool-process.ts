import { spawn } from 'node:child_process';
import { access, constants } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { mostPixels } from './probed.ts';

/** Strangers' files: no other file, no network, no format but those of films, no picture that fills the memory. */
export const ofStrangers = [
  ...['-protocol_whitelist', 'file', '-format_whitelist', 'mov,matroska,mpegts'],
  ...['-max_pixels', String(mostPixels)],
];
/** A name cannot be taken for another protocol. */
export const input = (file: string) => `file:${file}`;

type Tool = 'ffprobe' | 'ffmpeg' | 'espeak-ng';

export interface Limits {
  /** Of the processor. */
  readonly cpuSeconds: number;
  /** By the clock: a disk may be slow, or a film without end. */
  readonly seconds: number;
  /** Of any file that it writes. */
  readonly fileBytes: number;
  /** Of all that it asks the system for; without it there is no limit. */
  readonly memoryBytes?: number;
  /** Behind what serves people: 1 to 19, as nice(1) counts. */
  readonly niceness?: number;
}

export interface Ended {
  /** Null when it was ended from outside. */
  readonly code: number | null;
  /** Because it took longer than `seconds`, or more of the processor than it may. */
  readonly tookTooLong: boolean;
  /** The end of what it complained of. */
  readonly errors: string;
}

/** Where a program is that may be started by its name; null when it is not installed. */
async function placeOf(name: string): Promise<string | null> {
  for (const folder of (process.env.PATH ?? '').split(path.delimiter)) {
    if (folder === '') continue;
    const file = path.join(folder, name);
    if (
      await access(file, constants.X_OK).then(
        () => true,
        () => false,
      )
    )
      return file;
  }
  return null;
}

export const noFfmpeg =
  'ffmpeg is not installed on this server: whoever runs it has to install ffmpeg, with ffprobe; films that wait are then looked at by themselves. Links can be watched meanwhile.';

/** Whether a tool may be started. */
export const hasTool = async (tool: Tool): Promise<boolean> => (await placeOf(tool)) !== null;

/** Both tools are there. */
export async function hasFfmpeg(): Promise<boolean> {
  return (await Promise.all([hasTool('ffprobe'), hasTool('ffmpeg')])).every(Boolean);
}

const mostErrors = 4000;

/**
 * Runs a tool on people's files in a process of its own, without the server's environment, and with limits by
 * prlimit (util-linux) where that is there.
 * @param onLine each line that it writes
 * @throws Error when the tool is not there, or `signal` ended it
 */
export async function runTool(
  tool: Tool,
  args: readonly string[],
  limits: Limits,
  signal: AbortSignal,
  onLine: (line: string) => void,
): Promise<Ended> {
  const place = await placeOf(tool);
  if (place === null) throw new Error(`${tool} is not installed.`);
  signal.throwIfAborted();
  const prlimit = await placeOf('prlimit');
  const [command, all] =
    prlimit === null
      ? [place, args]
      : [
          prlimit,
          [
            ...[`--cpu=${limits.cpuSeconds}`, `--fsize=${limits.fileBytes}`, '--core=0', '--nofile=64'],
            ...(limits.memoryBytes === undefined ? [] : [`--as=${limits.memoryBytes}`]),
            ...['--', place, ...args],
          ],
        ];
  const child = spawn(command, all, {
    cwd: '/',
    env: { PATH: process.env.PATH, LC_ALL: 'C' },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  if (child.pid !== undefined && limits.niceness !== undefined) {
    try {
      os.setPriority(child.pid, limits.niceness);
    } catch {
      // It is over already, or the system knows no such thing.
    }
  }
  let errors = '';
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    errors = (errors + text).slice(-mostErrors);
  });
  const lines = createInterface({ input: child.stdout });
  lines.on('line', onLine);
  let late = false;
  const end = () => child.kill('SIGKILL');
  const timer = setTimeout(() => {
    late = true;
    end();
  }, limits.seconds * 1000);
  signal.addEventListener('abort', end, { once: true });
  try {
    const { code, by } = await new Promise<{ code: number | null; by: NodeJS.Signals | null }>(
      (resolve, reject) => {
        child.once('error', reject);
        child.once('close', (status, killedBy) => resolve({ code: status, by: killedBy }));
      },
    );
    signal.throwIfAborted();
    // prlimit's own limit on the processor ends it by one of these.
    return { code, tookTooLong: late || by === 'SIGXCPU' || by === 'SIGKILL', errors };
  } finally {
    clearTimeout(timer);
    signal.removeEventListener('abort', end);
    lines.close();
  }
}
