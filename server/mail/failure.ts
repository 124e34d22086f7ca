/** Tries after which a message is given up; a person may then send it again. The last waits 17 hours for its turn. */
const mostTries = 7;

/**
 * Minutes until the next try, four times as long after each failure; null: given up.
 * @param tries made so far, at least 1
 */
export const retryAfterMinutes = (tries: number, most = mostTries): number | null =>
  tries >= most ? null : 4 ** (tries - 1);

/** Why a message was not taken, for the person who wanted it sent. */
interface MailFailure {
  /** Completes "could not be sent, because ...", with the server's own words. */
  because: string;
  /** The server will not take it however often it is tried (a 5xx reply: RFC 5321, section 4.2.1). */
  lasting: boolean;
  /** It is the address that the server refuses for good: whatever else is mailed there will not arrive either. */
  addressRefused: boolean;
}

/** What nodemailer throws, beside its message. */
type SendError = { code?: string; responseCode?: number; response?: string; command?: string };

/** A mail that could not be written: a fault of the program, of which a person is told no more than that. */
export class MailNotWritten extends Error {}

export function mailFailure(error: unknown): MailFailure {
  if (error instanceof MailNotWritten)
    return {
      because: 'it could not be written, which is a fault of the program; its log says more',
      lasting: false,
      addressRefused: false,
    };
  const { code, responseCode, response, command } = error as SendError;
  const words = (response ?? (error instanceof Error ? error.message : String(error))).trim().slice(0, 500);
  const because = {
    EENVELOPE: `the mail server refused the address (${words})`,
    EMESSAGE: `the mail server refused the message (${words})`,
    EAUTH: `the mail server did not accept the name and password in SMTP_URL (${words})`,
    ECONNECTION: `the mail server could not be reached (${words})`,
    ESOCKET: `the mail server could not be reached (${words})`,
    EDNS: `the mail server could not be found (${words})`,
    ETIMEDOUT: `the mail server did not answer in time (${words})`,
  }[code ?? ''];
  const lasting = responseCode !== undefined && responseCode >= 500 && code !== 'EAUTH';
  return {
    because: because ?? `the mail server did not take it (${words})`,
    lasting,
    addressRefused: command === 'RCPT TO' && isNoAddress(responseCode, words),
  };
}

/**
 * A 5xx reply to a recipient blames the address by an enhanced code of the subject "addressing" (x.1.x) or a mailbox
 * that is disabled (x.2.1), RFC 3463, section 3; without one by 550, 551 or 553 (RFC 5321, section 4.2.3). What a
 * server refuses by policy (x.7.x, such as relaying) or for want of room is not the address's fault.
 */
function isNoAddress(responseCode: number | undefined, words: string): boolean {
  if (responseCode === undefined || responseCode < 500) return false;
  const enhanced = /\b5\.(\d{1,3})\.(\d{1,3})\b/.exec(words);
  if (enhanced) return enhanced[1] === '1' || (enhanced[1] === '2' && enhanced[2] === '1');
  return responseCode === 550 || responseCode === 551 || responseCode === 553;
}
