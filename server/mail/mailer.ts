import nodemailer, { type SendMailOptions } from 'nodemailer';
import type { Config } from '../config.ts';

export type Mail = Pick<SendMailOptions, 'subject' | 'text' | 'attachments' | 'icalEvent' | 'messageId'> & {
  to: { name: string; address: string };
};

/** Sends mail over SMTP, one message at a time on a kept connection. */
export interface Mailer {
  /** @throws Error with the server's words when it does not take the message. */
  send(mail: Mail): Promise<void>;
  close(): void;
}

/** The mailer of the settings, or null when no SMTP server is configured. */
export function makeMailer(settings: Pick<Config, 'SMTP_URL' | 'MAIL_FROM'>): Mailer | null {
  if (settings.SMTP_URL === undefined) return null;
  const transport = nodemailer.createTransport(
    // A server that says nothing is given up soon: the message waits in a transaction until then, and is tried again.
    {
      url: settings.SMTP_URL,
      pool: true,
      maxConnections: 2,
      connectionTimeout: 15_000,
      greetingTimeout: 15_000,
      socketTimeout: 60_000,
    },
    { from: settings.MAIL_FROM },
  );
  return {
    async send(mail) {
      await transport.sendMail(mail);
    },
    close: () => transport.close(),
  };
}

/** Where links in mail and calendars begin; without PUBLIC_URL, the address this server listens on. */
export function publicAddress(settings: Pick<Config, 'PUBLIC_URL' | 'HOST' | 'PORT'>): string {
  return (settings.PUBLIC_URL ?? `http://${settings.HOST}:${settings.PORT}`).replace(/\/$/, '');
}
