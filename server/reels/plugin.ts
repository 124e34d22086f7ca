import fastifyPlugin from 'fastify-plugin';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { makeNextReel, type ReelMaker } from './make-reel.ts';
import { ReelFiles } from './reel-files.ts';
import { tidyReels } from './tidying.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** Where reels lie, and the process's share of making those that were asked for. */
    reels: Pick<BackgroundWork, 'wake' | 'idle'> & { readonly files: ReelFiles };
  }
}

const hour = 3_600_000;

/** One reel at a time in each process: ffmpeg takes what processor there is. */
export const reelsPlugin = fastifyPlugin(async (app) => {
  const files = new ReelFiles(app.settings);
  const stop = new AbortController();
  const maker: ReelMaker = { app, files, stop: stop.signal };
  const work = backgroundWork(
    () => makeNextReel(maker),
    (error) => app.log.error({ err: error }, 'making a reel was interrupted; it goes on later'),
  );
  app.decorate('reels', { files, wake: work.wake, idle: work.idle });
  const tidy = () =>
    tidyReels(app.database.pool, files).catch((error: unknown) =>
      app.log.warn({ err: error }, 'files of reels that are gone could not be removed; they are later'),
    );
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    work.watch();
    void tidy();
    timer = setInterval(tidy, hour);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    clearInterval(timer);
    stop.abort();
    await work.stop();
  });
});
