import fastifyPlugin from 'fastify-plugin';
import { publicAddress } from '../mail/mailer.ts';
import { preparePasswordLink, takeNextRequest } from './forgotten-password.ts';
import { prepareInvitation } from './invitation-message.ts';

/** What the outbox needs to know of accounts: the links in its mails, and who forgot a password. */
export const accountMessages = fastifyPlugin(async (app) => {
  const address = publicAddress(app.settings);
  const { pool } = app.database;
  app.outbox.prepare('invitation', prepareInvitation(address));
  app.outbox.prepare('password link', preparePasswordLink(address));
  if (app.settings.SMTP_URL !== undefined) app.outbox.alsoTakes(() => takeNextRequest(pool));
});
