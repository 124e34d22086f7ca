import nodemailer, { type SendMailOptions } from 'nodemailer';
import type { Config } from '../config.ts';

export type Mail = Pick<
  SendMailOptions,
  'subject' | 'text' | 'html' | 'attachments' | 'icalEvent' | 'messageId' | 'headers'
> & {
  to: { name: string; address: string };
};

/** Sends mail over SMTP, one message at a time on a kept connection. */
export interface Mailer {
  /** @throws Error with the server's words when it does not take the message, or not in time. */
  send(mail: Mail): Promise<void>;
  close(): void;
}

/** Seconds until sending one message is given up, however busily the server goes on. */
export const longestSend = 120;

/** The mailer of the settings, or null when no SMTP server is configured. */
export function makeMailer(settings: Pick<Config, 'SMTP_URL' | 'MAIL_FROM'>): Mailer | null {
  if (settings.SMTP_URL === undefined) return null;
  const open = () =>
    nodemailer.createTransport(
      // A server that says nothing is given up soon, and the message tried again. SMTP_URL may say otherwise
      // (?greetingTimeout=...).
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
  let transport = open();
  return {
    async send(mail) {
      let timer: NodeJS.Timeout | undefined;
      const tooLate = new Promise<never>((_resolve, reject) => {
        timer = setTimeout(() => {
          // With its connections, so that the message does not go out after all.
          transport.close();
          transport = open();
          reject(Object.assign(new Error(`nothing after ${longestSend} seconds`), { code: 'ETIMEDOUT' }));
        }, longestSend * 1000);
      });
      const sending = transport.sendMail(mail);
      sending.catch(() => {}); // told by the race, or too late
      try {
        await Promise.race([sending, tooLate]);
      } finally {
        clearTimeout(timer);
      }
    },
    close: () => transport.close(),
  };
}

/** Where links in mail and calendars begin; without PUBLIC_URL, the address this server listens on. */
export function publicAddress(settings: Pick<Config, 'PUBLIC_URL' | 'HOST' | 'PORT'>): string {
  return (settings.PUBLIC_URL ?? `http://${hostInAddress(settings.HOST)}:${settings.PORT}`).replace(
    /\/$/,
    '',
  );
}

/** "All of this machine's addresses" is none that can be opened; one of IPv6 stands in brackets (RFC 3986, section 3.2.2). */
const hostInAddress = (host: string): string =>
  host === '0.0.0.0' || host === '::' ? 'localhost' : host.includes(':') ? `[${host}]` : host;
