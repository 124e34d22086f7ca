import fastifyPlugin from 'fastify-plugin';
import { conferences } from '../accounts/audit/audit-verification.ts';
import { inTransaction } from '../database/transaction.ts';
import { makeMailer } from '../mail/mailer.ts';
import { readKey } from './notes.ts';
import { noteHeads } from './noting.ts';
import { noteUnsealed } from './reports-as-noted.ts';

const hour = 3600_000;

/** Notes the marks of reports filed before marks were noted, and daily, where configured, the head of every trail. */
export const proofPlugin = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const { AUDIT_KEY_FILE, AUDIT_NOTES_FILE, AUDIT_NOTES_MAIL } = app.settings;
  const key = AUDIT_KEY_FILE === undefined ? undefined : await readKey(AUDIT_KEY_FILE);
  if (key?.type === 'public')
    throw new Error(`${AUDIT_KEY_FILE} holds a public key; notes are signed by a private one.`);
  const mailer = AUDIT_NOTES_MAIL === undefined ? null : makeMailer(app.settings);
  const mail = mailer && AUDIT_NOTES_MAIL ? { mailer, address: AUDIT_NOTES_MAIL } : undefined;
  const configured = key !== undefined && (AUDIT_NOTES_FILE !== undefined || mail !== undefined);
  const note = async () => {
    if (!configured) return;
    await noteHeads(pool, { key, file: AUDIT_NOTES_FILE, mail }).catch((error) =>
      app.log.error(
        { err: error },
        'the audit trail could not be noted elsewhere; it is tried again in an hour',
      ),
    );
  };
  const seal = async () => {
    for (const { id } of await conferences(pool))
      await inTransaction(pool, (client) => noteUnsealed(client, id));
  };
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    void seal()
      .catch((error) => app.log.warn({ err: error }, 'marks of earlier reports could not be noted'))
      .then(note);
    timer = setInterval(note, hour);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    clearInterval(timer);
    mailer?.close();
  });
});
