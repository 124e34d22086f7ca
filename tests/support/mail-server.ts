import type { AddressInfo } from 'node:net';
import { type ParsedMail, simpleParser } from 'mailparser';
import { SMTPServer } from 'smtp-server';

/** A real SMTP server on loopback that keeps what arrives and may be told to refuse. */
export interface MailServer {
  url: string;
  arrived: ParsedMail[];
  /** SMTP reply code and words by address; the address "*" is the message of anybody. */
  refuse: Map<string, { code: number; words: string }>;
  /** The mails to an address. */
  to(address: string): ParsedMail[];
  close(): Promise<void>;
}

export async function mailServer(): Promise<MailServer> {
  const arrived: ParsedMail[] = [];
  const refuse: MailServer['refuse'] = new Map();
  const refusal = (address: string) => {
    const found = refuse.get(address);
    return found && Object.assign(new Error(found.words), { responseCode: found.code });
  };
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onRcptTo({ address }, _session, done) {
      done(refusal(address));
    },
    onData(stream, _session, done) {
      simpleParser(stream).then((mail) => {
        const refused = refusal('*');
        if (refused) return done(refused);
        arrived.push(mail);
        done();
      }, done);
    },
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    url: `smtp://127.0.0.1:${(server.server.address() as AddressInfo).port}`,
    arrived,
    refuse,
    to: (address) =>
      arrived.filter((mail) =>
        [mail.to].flat().some((to) => to?.value.some((one) => one.address === address)),
      ),
    close: () => new Promise<void>((resolve) => server.close(() => resolve())),
  };
}
