import fastifyPlugin from 'fastify-plugin';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { hour, nowAndThen } from '../threads/now-and-then.ts';
import { makeNextReel, type ReelMaker } from './make-reel.ts';
import { ReelFiles } from './reel-files.ts';
import { tidyReels } from './tidying.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** Where reels lie, and the process's share of making those that were asked for. */
    reels: Pick<BackgroundWork, 'wake' | 'idle'> & { readonly files: ReelFiles };
  }
}

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
  nowAndThen(
    app,
    hour,
    () => tidyReels(app.database.pool, files),
    'files of reels that are gone could not be removed; they are later',
  );
  app.addHook('onListen', async () => work.watch());
  app.addHook('onClose', async () => {
    stop.abort();
    await work.stop();
  });
});
