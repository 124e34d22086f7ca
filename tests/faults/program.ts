import { type ChildProcess, spawn } from 'node:child_process';
import { readFile, realpath } from 'node:fs/promises';
import path from 'node:path';
import { connectionUrl } from '../../server/database/embedded/connection.ts';
import { serverLives } from '../../server/database/embedded/running-server.ts';
import { ownPort } from '../support/own-port.ts';
import { program } from '../support/program.ts';

/** How long a start may take on a machine that does much else. */
const patienceMs = 180_000;

/** The program as a person starts it, at one address, with its own database; to be killed and started again. */
export class Program {
  readonly #dataDir: string;
  readonly port: number;
  #child: ChildProcess | undefined;
  #said = '';

  private constructor(dataDir: string, port: number) {
    this.#dataDir = dataDir;
    this.port = port;
  }

  static async on(dataDir: string): Promise<Program> {
    return new Program(dataDir, await ownPort());
  }

  get address(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  /** What it printed, of all its runs. */
  get said(): string {
    return this.#said;
  }

  get pid(): number | undefined {
    return this.#child?.exitCode === null && this.#child.signalCode === null ? this.#child.pid : undefined;
  }

  /** @throws Error with what it said, when it ends or is not ready in time. */
  async start(): Promise<void> {
    const child = spawn(process.execPath, program('server/start.ts'), {
      env: {
        ...process.env,
        PORT: String(this.port),
        HOST: '127.0.0.1',
        DATA_DIR: this.#dataDir,
        DATABASE_URL: '',
        DEMO: 'off',
        SMTP_URL: '',
        PUBLIC_URL: '',
        TRUST_PROXY: '',
        LOG_LEVEL: process.env.LOG_LEVEL ?? 'error',
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.#child = child;
    const from = this.#said.length;
    const hear = (chunk: Buffer) => {
      this.#said += chunk;
    };
    child.stdout!.on('data', hear);
    child.stderr!.on('data', hear);
    for (const until = Date.now() + patienceMs; ; await pause(50)) {
      if (child.exitCode !== null) throw new Error(`The program ended: ${this.#said.slice(from)}`);
      if (Date.now() > until) throw new Error(`The program is not ready: ${this.#said.slice(from)}`);
      if (/ready at http/.test(this.#said.slice(from))) return;
    }
  }

  /** Ends it by that signal and waits for its end. @returns its exit code; null when the signal ended it. */
  async end(signal: NodeJS.Signals): Promise<number | null> {
    const child = this.#child;
    if (child === undefined || child.exitCode !== null) return child?.exitCode ?? null;
    const gone = new Promise<number | null>((resolve) => child.once('exit', resolve));
    child.kill(signal);
    return gone;
  }

  async isReady(): Promise<boolean> {
    return fetch(`${this.address}/ready`, { signal: AbortSignal.timeout(5000) }).then(
      (answer) => answer.ok,
      () => false,
    );
  }

  /** @throws Error when it is not ready in time. */
  async becomesReady(): Promise<void> {
    for (const until = Date.now() + patienceMs; !(await this.isReady()); await pause(50)) {
      if (this.pid === undefined) throw new Error(`The program has ended: ${this.#said.slice(-2000)}`);
      if (Date.now() > until)
        throw new Error(`The program does not become ready: ${this.#said.slice(-2000)}`);
    }
  }

  /** The process of its database server; 0 when there is none. A noted number may be a stranger's by now. */
  async postmaster(): Promise<number> {
    const pid = Number((await this.#pidFile())[0]) || 0;
    const folder = await realpath(path.join(this.#dataDir, 'postgres')).catch(() => '');
    return (await serverLives(pid, folder)) ? pid : 0;
  }

  /** Ends a database server that the program has left behind; usually there is none. */
  async endDatabase(): Promise<void> {
    const pid = await this.postmaster();
    try {
      if (pid > 1) process.kill(pid, 'SIGQUIT');
    } catch {
      // It was none.
    }
  }

  /** The superuser's way to its database. */
  async databaseUrl(): Promise<string> {
    const home = path.dirname(await realpath(path.join(this.#dataDir, 'postgres')));
    const password = (await readFile(path.join(home, 'postgres-password'), 'utf8')).trim();
    return connectionUrl(Number((await this.#pidFile())[3]), password, 'crewmark');
  }

  async #pidFile(): Promise<string[]> {
    const text = await readFile(path.join(this.#dataDir, 'postgres', 'postmaster.pid'), 'utf8').catch(
      () => '',
    );
    return text.split('\n');
  }
}

export const pause = (milliseconds: number) => new Promise((resolve) => setTimeout(resolve, milliseconds));
