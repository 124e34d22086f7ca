import fastifyPlugin from 'fastify-plugin';
import { makeMailer, publicAddress } from '../mail/mailer.ts';
import { answerPage } from './answering.ts';
import { sendNext } from './delivery.ts';
import { LetterMaker } from './making.ts';

declare module 'fastify' {
  interface FastifyInstance {
    letterWork: LetterWork;
  }
}

/** The process's share of making and sending letters. */
export interface LetterWork {
  /** Starts on what is waiting; returns at once. */
  wake(): void;
  /** Resolves when nothing is waiting that this process could do. */
  idle(): Promise<void>;
}

/** How often a listening server looks for work that other processes or an earlier run left. */
const lookEveryMs = 3000;

/** One piece of work after the other, with the event loop free in between for requests. */
export const letterWork = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const address = publicAddress(app.settings);
  const maker = new LetterMaker(pool, app.results, answerPage(address));
  const mailer = makeMailer(app.settings);
  let running: Promise<void> | null = null;
  let again = false;
  let closing = false;

  const drain = async () => {
    do {
      again = false;
      while (!closing && (await maker.makeNext())) await breathe();
      while (!closing && mailer && (await sendNext(pool, mailer, address))) await breathe();
    } while (again && !closing);
  };
  const wake = () => {
    again = true;
    if (running || closing) return;
    running = drain()
      .catch((error) => app.log.error({ err: error }, 'making letters was interrupted; it goes on later'))
      .finally(() => {
        running = null;
      });
  };
  app.decorate('letterWork', {
    wake,
    async idle() {
      while (running) await running;
    },
  });

  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    wake();
    timer = setInterval(wake, lookEveryMs);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    closing = true;
    clearInterval(timer);
    await running;
    mailer?.close();
  });
});

const breathe = () => new Promise<void>((resolve) => setImmediate(resolve));
