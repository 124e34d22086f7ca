import fastifyPlugin from 'fastify-plugin';
import { publicAddress } from '../mail/mailer.ts';
import type { WebhookResult } from '../metrics/metrics.ts';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { nowAndThen } from '../threads/now-and-then.ts';
import { deliverNext } from './delivering.ts';
import { removeOldDeliveries } from './delivery-store.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The process's share of telling addresses what happened. */
    webhooks: Pick<BackgroundWork, 'wake' | 'idle'>;
  }
}

/** So many addresses at once; one that does not answer keeps only its own waiting. */
const lanes = 3;
const minutesBetweenRemovals = 60;

/** Links begin with PUBLIC_URL, as in mails. */
export const webhookPlugin = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const sender = {
    pool,
    address: publicAddress(app.settings),
    toLoopback: app.settings.WEBHOOKS_TO_LOOPBACK,
    ended: (result: WebhookResult) => app.metrics.webhook(result),
  };
  const work = Array.from({ length: lanes }, () =>
    backgroundWork(
      () => deliverNext(sender),
      (error) => app.log.error({ err: error }, 'telling webhooks was interrupted; it goes on later'),
    ),
  );
  const ofAll = (act: (lane: BackgroundWork) => Promise<void>) => Promise.all(work.map(act));
  app.decorate('webhooks', {
    wake: () => {
      for (const lane of work) lane.wake();
    },
    idle: async () => {
      await ofAll((lane) => lane.idle());
    },
  });
  nowAndThen(
    app,
    minutesBetweenRemovals * 60_000,
    () => removeOldDeliveries(pool),
    'deliveries of long ago could not be removed; they are later',
  );
  app.addHook('onListen', async () => {
    for (const lane of work) lane.watch();
  });
  app.addHook('onClose', async () => {
    await ofAll((lane) => lane.stop());
  });
});
