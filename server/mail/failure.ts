/** Minutes until the next try after the first, second, ... failure; after the last a person has to say so. */
export const retryAfterMinutes = [1, 5, 30, 120] as const;

/** Why a message was not taken, for the person who wanted it sent. */
interface MailFailure {
  /** Completes "could not be sent, because ...", with the server's own words. */
  because: string;
  /** The server will not take it however often it is tried (a 5xx reply: RFC 5321, section 4.2.1). */
  lasting: boolean;
}

/** What nodemailer throws, beside its message. */
type SendError = { code?: string; responseCode?: number; response?: string };

export function mailFailure(error: unknown): MailFailure {
  const { code, responseCode, response } = error as SendError;
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
  return { because: because ?? `the mail server did not take it (${words})`, lasting };
}
