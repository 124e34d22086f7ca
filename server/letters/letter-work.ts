import fastifyPlugin from 'fastify-plugin';
import { makeMailer, publicAddress } from '../mail/mailer.ts';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { answerPage } from './answering.ts';
import { sendNext } from './delivery.ts';
import { LetterMaker } from './making.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The process's share of making and sending letters. */
    letterWork: BackgroundWork;
  }
}

/** Makes every letter that waits, then sends those that are due. */
export const letterWork = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const address = publicAddress(app.settings);
  const maker = new LetterMaker(pool, app.results, answerPage(address));
  const mailer = makeMailer(app.settings);
  const work = backgroundWork(
    async () => (await maker.makeNext()) || (mailer !== null && (await sendNext(pool, mailer, address))),
    (error) => app.log.error({ err: error }, 'making letters was interrupted; it goes on later'),
  );
  app.decorate('letterWork', work);
  app.addHook('onListen', async () => work.watch());
  app.addHook('onClose', async () => {
    await work.stop();
    mailer?.close();
  });
});
