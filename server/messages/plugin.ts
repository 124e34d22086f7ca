import fastifyPlugin from 'fastify-plugin';
import type pg from 'pg';
import { makeMailer, publicAddress } from '../mail/mailer.ts';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { nowAndThen } from '../threads/now-and-then.ts';
import type { Kind } from './kinds.ts';
import { leaveOnDesks } from './outbox-store.ts';
import { removeOldMessages } from './retention.ts';
import { type Prepare, sendNext } from './sending.ts';

/** The process's share of mailing what people are told. */
interface Outbox extends BackgroundWork {
  /** Says what mails of a kind hold besides their message's facts. */
  prepare(kind: Kind, prepare: Prepare): void;
  /** Something that becomes messages and waits elsewhere; asked first. False when nothing waits. */
  alsoTakes(next: () => Promise<boolean>): void;
  /** Messages that are due with time, such as reminders. Asked every quarter of an hour, by each server. */
  alsoWrites(write: (pool: pg.Pool) => Promise<number>): void;
}

declare module 'fastify' {
  interface FastifyInstance {
    outbox: Outbox;
  }
}

const minutesBetweenReminders = 15;

/** Links in mails begin with PUBLIC_URL, never with the Host a request claims: whoever asks could choose that. */
export const outboxPlugin = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const mailer = makeMailer(app.settings);
  const preparing = new Map<Kind, Prepare>();
  const sources: (() => Promise<boolean>)[] = [];
  const writers: ((pool: pg.Pool) => Promise<number>)[] = [];
  const address = publicAddress(app.settings);
  const next = async () => {
    for (const source of sources) if (await source()) return true;
    if (mailer)
      return sendNext({
        ...{ pool, mailer, address, preparing },
        ended: (result) => app.metrics.mail(result),
        failed: (error) => app.log.error({ err: error }, 'a mail could not be written'),
      });
    await leaveOnDesks(pool);
    return false;
  };
  const work = backgroundWork(next, (error) =>
    app.log.error({ err: error }, 'sending mail was interrupted; it goes on later'),
  );
  app.decorate('outbox', {
    ...work,
    prepare: (kind, prepare) => preparing.set(kind, prepare),
    alsoTakes: (source) => sources.push(source),
    alsoWrites: (write) => writers.push(write),
  } satisfies Outbox);
  const writeAll = async () => {
    for (const write of writers)
      await write(pool).catch((error: unknown) =>
        app.log.warn({ err: error }, 'reminders could not be written; they are later'),
      );
    await removeOldMessages(pool);
  };
  nowAndThen(
    app,
    minutesBetweenReminders * 60_000,
    writeAll,
    'messages of long ago could not be removed; they are later',
  );
  app.addHook('onListen', async () => work.watch());
  app.addHook('onClose', async () => {
    await work.stop();
    mailer?.close();
  });
});
