import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { databaseTrouble } from '../database/trouble.ts';
import { MailNotWritten } from '../mail/failure.ts';
import type { Mail, Mailer } from '../mail/mailer.ts';
import type { MailResult } from '../metrics/metrics.ts';
import { isMust, type Kind } from './kinds.ts';
import { mailForm } from './mail-form.ts';
import { messageText } from './message-text.ts';
import { type Claimed, claimNext, noteFailure, noteSent, notMailed } from './outbox-store.ts';
import { stopToken } from './unsubscribe.ts';

/** What a mail holds that its message does not. */
interface Prepared {
  /** For the template: links that let somebody in, made for this mail and kept nowhere in the clear. */
  readonly facts?: Readonly<Record<string, unknown>>;
  readonly attachments?: NonNullable<Mail['attachments']>;
  readonly icalEvent?: NonNullable<Mail['icalEvent']>;
  /** Makes the links work, in the transaction that notes the mail as sent; a failure leaves what the person had. */
  readonly sent?: (client: Queryable) => Promise<void>;
}

/** Reads what a mail of a kind holds besides. Null: it is no longer true, so it is not mailed. */
export type Prepare = (db: Queryable, message: Claimed) => Promise<Prepared | null>;

interface Sender {
  readonly pool: pg.Pool;
  readonly mailer: Mailer;
  /** What links begin with. */
  readonly address: string;
  readonly preparing: ReadonlyMap<Kind, Prepare>;
  /** Told how each mail ended. */
  readonly ended: (result: MailResult) => void;
  /** Told why a mail could not be written. */
  readonly failed: (error: unknown) => void;
}

type Ready = { readonly message: Claimed; readonly prepared: Prepared };

/**
 * Sends what is due next. A mail may arrive twice when a process dies between sending and noting it; its Message-ID is
 * then the same.
 * @returns false when nothing is due.
 */
export async function sendNext(sender: Sender): Promise<boolean> {
  const { pool, mailer } = sender;
  const claimed = await claimNext(pool);
  if (claimed === undefined) return false;
  const ready: Ready[] = [];
  for (const message of claimed) {
    const prepare = sender.preparing.get(message.kind);
    let prepared: Prepared | null = {};
    try {
      if (prepare) prepared = await prepare(pool, message);
    } catch (error) {
      if (databaseTrouble(error)) throw error;
      // Noted like a mail that was not taken, so that the next are not kept waiting behind it.
      sender.failed(error);
      const again = await noteFailure(pool, [message], new MailNotWritten());
      sender.ended(again ? 'tried again' : 'given up');
      continue;
    }
    if (prepared === null) await notMailed(pool, message, 'overtaken');
    else ready.push({ message, prepared });
  }
  if (ready.length === 0) return true;
  try {
    await mailer.send(await mailOf(sender, ready));
  } catch (error) {
    const again = await noteFailure(
      pool,
      ready.map(({ message }) => message),
      error,
    );
    sender.ended(again ? 'tried again' : 'given up');
    return true;
  }
  await inTransaction(pool, async (client) => {
    const noted: Ready[] = [];
    for (const one of ready) if (await noteSent(client, one.message)) noted.push(one);
    for (const { prepared } of noted) await prepared.sent?.(client);
  });
  sender.ended('sent');
  return true;
}

async function mailOf({ pool, address }: Sender, ready: readonly Ready[]): Promise<Mail> {
  const { message: first, prepared } = ready[0]!;
  const stop = isMust(first.kind) ? null : `${address}/mail/${await stopToken(pool, first)}`;
  const alone = ready.length === 1;
  const form = mailForm(
    ready.map((one) =>
      messageText(one.message.kind, {
        ...one.message,
        ...one.message.facts,
        ...one.prepared.facts,
        enclosed: alone && one.prepared.attachments !== undefined,
      }),
    ),
    { name: first.name, conference: first.conference, address, stop },
  );
  return {
    ...form,
    to: { name: first.name, address: first.email },
    messageId: `<${first.id}@crewmark>`,
    headers: headersOf(stop),
    ...(alone && prepared.attachments && { attachments: prepared.attachments }),
    ...(alone && prepared.icalEvent && { icalEvent: prepared.icalEvent }),
  };
}

/** Nobody answers these (RFC 3834, section 5), and one click stops them (RFC 2369; RFC 8058 asks for https). */
const headersOf = (stop: string | null) => ({
  'Auto-Submitted': 'auto-generated',
  ...(stop && { 'List-Unsubscribe': `<${stop}>` }),
  ...(stop?.startsWith('https:') && { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' }),
});
