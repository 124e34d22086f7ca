const graceMs = 5000;
const mostMs = 9500;

type Step = () => Promise<unknown>;

/**
 * The end of the process. What was set up is undone in reverse order, once, however it ends. What is under way gets a
 * few seconds; then it is given up, and its transaction is rolled back; in ten seconds the process is gone.
 */
export class Stopping {
  readonly #undo: Step[] = [];
  readonly #giveUp: Step[] = [];
  readonly #atOnce: Array<() => void> = [];
  #begun = false;
  #limited = false;

  /** True from the moment that the process is to end. */
  get begun(): boolean {
    return this.#begun;
  }

  /** From now on the end has its ten seconds; before, a step of the start that is under way takes the time it needs. */
  limit(): void {
    this.#limited = true;
  }

  /** @param step undoes something that was just set up */
  undo(step: Step): void {
    this.#undo.push(step);
  }

  /** @param step makes what is under way fail; they are done in the order in which they were given */
  giveUp(step: Step): void {
    this.#giveUp.push(step);
  }

  /** @param step is done when there is no more time to wait; returns at once */
  atOnce(step: () => void): void {
    this.#atOnce.push(step);
  }

  /** @param started resolves when the start, or the step of it that is under way, has ended */
  async stop(code: number, started: Promise<unknown> = Promise.resolve()): Promise<never> {
    this.#begun = true;
    if (this.#limited) {
      setTimeout(async () => {
        for (const step of this.#giveUp) await step().catch(() => {});
      }, graceMs).unref();
      setTimeout(() => this.leave(code), mostMs).unref();
    }
    await started;
    for (const step of this.#undo.reverse()) {
      await step().catch((error) => process.stderr.write(`While stopping: ${(error as Error).message}\n`));
    }
    process.exit(code);
  }

  /** Ends the process now, waiting for nothing. */
  leave(code: number): never {
    for (const step of this.#atOnce) {
      try {
        step();
      } catch {
        // Gone already.
      }
    }
    process.exit(code);
  }
}

/**
 * Calls `stop` when the npm that started this process is gone: npm hands a signal to the shell between them, which
 * ends without passing it on.
 */
export function watchNpm(stop: () => void): void {
  const parent = process.ppid;
  if (process.env.npm_lifecycle_event === undefined || parent <= 1) return;
  const look = setInterval(() => {
    if (process.ppid === parent) return;
    clearInterval(look);
    stop();
  }, 200);
  look.unref();
}
