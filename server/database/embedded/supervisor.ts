import { pause } from './files.ts';
import { type Cluster, postmasterPid, serverLives, startServer } from './running-server.ts';

/** What a supervisor tells: why the database is away, or, with undefined, at which port it is back. */
export type Told = (reason: string | undefined, port: number) => void;

const lookEveryMs = 250;
/** Pauses between tries; the last one is kept to, since a full disk may take somebody a night to free. */
const pausesMs = [0, 250, 500, 1000, 2000, 5000, 10_000, 30_000];

/**
 * Starts the server again whenever it has died. PostgreSQL replaces dead processes of its own by itself; this is for
 * the one that does that.
 */
export class Supervisor {
  readonly #cluster: Cluster;
  readonly #say: (line: string) => void;
  readonly #told: Told;
  #port: number;
  #stopped = false;
  readonly #running: Promise<void>;

  constructor(cluster: Cluster, port: number, say: (line: string) => void, told: Told) {
    this.#cluster = cluster;
    this.#port = port;
    this.#say = say;
    this.#told = told;
    this.#running = this.#watch();
  }

  /** Resolves when nothing will be started any more. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#running;
  }

  async #watch(): Promise<void> {
    const { folder } = this.#cluster;
    let pid = await postmasterPid(folder);
    while (!this.#stopped) {
      if (await serverLives(pid, folder)) {
        await pause(lookEveryMs);
        continue;
      }
      await this.#startAgain();
      pid = await postmasterPid(folder);
    }
  }

  async #startAgain(): Promise<void> {
    this.#say('The database server has ended; starting it again');
    this.#told('the database is being started again', this.#port);
    for (let tries = 0; !this.#stopped; tries++) {
      const wait = pausesMs[Math.min(tries, pausesMs.length - 1)]!;
      for (const until = Date.now() + wait; Date.now() < until && !this.#stopped; ) await pause(50);
      if (this.#stopped) return;
      try {
        this.#port = await startServer(this.#cluster);
        this.#say('The database answers again');
        this.#told(undefined, this.#port);
        return;
      } catch (error) {
        const next = pausesMs[Math.min(tries + 1, pausesMs.length - 1)]! / 1000;
        this.#say(`Try ${tries + 1}: ${(error as Error).message} Next try in ${next} s`);
        this.#told(`the database cannot be started: ${(error as Error).message}`, this.#port);
      }
    }
  }
}
