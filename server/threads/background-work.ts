/** Work that waits in the database, done by the serving process one piece after the other. */
export interface BackgroundWork {
  /** Starts on what is waiting; returns at once. */
  wake(): void;
  /** Resolves when nothing is waiting that this process could do. */
  idle(): Promise<void>;
  /** From now on looks by itself for work that other processes or an earlier run left. */
  watch(): void;
  /** Resolves when the piece at hand is done; no other is begun. */
  stop(): Promise<void>;
}

const lookEveryMs = 3000;

/**
 * @param next does the next piece; false when there is none. The event loop is free between pieces, for requests.
 * @param interrupted told of an error that `next` threw; the work goes on at the next wake.
 */
export function backgroundWork(
  next: () => Promise<boolean>,
  interrupted: (error: unknown) => void,
): BackgroundWork {
  let running: Promise<void> | null = null;
  let again = false;
  let stopping = false;
  let timer: NodeJS.Timeout | undefined;

  const drain = async () => {
    do {
      again = false;
      while (!stopping && (await next())) await breathe();
    } while (again && !stopping);
  };
  const wake = () => {
    again = true;
    if (running || stopping) return;
    running = drain()
      .catch(interrupted)
      .finally(() => {
        running = null;
      });
  };
  return {
    wake,
    async idle() {
      while (running) await running;
    },
    watch() {
      wake();
      timer = setInterval(wake, lookEveryMs);
      timer.unref();
    },
    async stop() {
      stopping = true;
      clearInterval(timer);
      await running;
    },
  };
}

const breathe = () => new Promise<void>((resolve) => setImmediate(resolve));
