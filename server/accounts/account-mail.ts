import fastifyPlugin from 'fastify-plugin';
import { makeMailer, publicAddress } from '../mail/mailer.ts';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { sendNextPasswordMail } from './forgotten-password-mail.ts';
import { sendNextInvitation } from './invitations-mail.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The process's share of sending invitations and links for forgotten passwords; without SMTP_URL there is none. */
    accountMail: BackgroundWork;
  }
}

/** Links in mails begin with PUBLIC_URL, never with the Host a request claims: whoever asks could choose that. */
export const accountMail = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const mailer = makeMailer(app.settings);
  const address = publicAddress(app.settings);
  const gaveUp = (error: unknown) =>
    app.log.error({ err: error }, 'a mail for a forgotten password could not be sent');
  const work = backgroundWork(
    async () =>
      mailer !== null &&
      ((await sendNextPasswordMail(pool, mailer, address, gaveUp)) ||
        (await sendNextInvitation(pool, mailer, address))),
    (error) => app.log.error({ err: error }, 'sending mail was interrupted; it goes on later'),
  );
  app.decorate('accountMail', work);
  app.addHook('onListen', async () => work.watch());
  app.addHook('onClose', async () => {
    await work.stop();
    mailer?.close();
  });
});
