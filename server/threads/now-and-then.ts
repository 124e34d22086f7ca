import type { FastifyInstance } from 'fastify';

export const hour = 3_600_000;

/**
 * Does work when the process begins to listen, and again and again until it closes: what waits if it fails once. It never
 * keeps the process alive.
 *
 * @param failed what a failure means, for the log: the work is tried again the next time
 */
export function nowAndThen(
  app: FastifyInstance,
  everyMs: number,
  work: () => Promise<unknown>,
  failed: string,
): void {
  const once = () => void work().catch((error: unknown) => app.log.warn({ err: error }, failed));
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    once();
    timer = setInterval(once, everyMs);
    timer.unref();
  });
  app.addHook('onClose', async () => clearInterval(timer));
}
