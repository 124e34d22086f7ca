import fastifyPlugin from 'fastify-plugin';
import { takeAwayNightly } from './nightly.ts';

const minutesBetween = 15;

/** Once a night takes away what conferences no longer keep, where they have it done by itself. */
export const retentionPlugin = fastifyPlugin(async (app) => {
  const failed = (error: unknown) =>
    app.log.error({ err: error }, 'what is no longer kept could not be taken away; it is tried next night');
  let running = Promise.resolve();
  const night = () => {
    running = running.then(() => takeAwayNightly(app.database.pool, failed)).then(() => undefined, failed);
  };
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    night();
    timer = setInterval(night, minutesBetween * 60_000);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    clearInterval(timer);
    await running;
  });
});
