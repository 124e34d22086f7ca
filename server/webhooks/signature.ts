import { createHmac, randomBytes } from 'node:crypto';

// As the Standard Webhooks specification, version 1.0.0, has it (github.com/standard-webhooks/standard-webhooks,
// spec/standard-webhooks.md): HMAC-SHA256 (RFC 2104) over id, time and body, under a secret written in base64.

const prefix = 'whsec_';
/** Between the specification's 24 and 64; what HMAC-SHA256 gives out (RFC 2104, section 3). */
const bytes = 32;

export const newSecret = (): string => `${prefix}${randomBytes(bytes).toString('base64')}`;

interface Signed {
  /** The same at every try, without a full stop. */
  readonly id: string;
  /** When it is sent. */
  readonly at: Date;
  readonly body: string;
}

/**
 * The headers by which a receiver knows who sent a body, and that it is no old one.
 * @param secrets each signs: a receiver may still know the earlier one only
 */
export function signatureHeaders(
  { id, at, body }: Signed,
  secrets: readonly string[],
): Record<string, string> {
  const timestamp = String(Math.floor(at.getTime() / 1000));
  const signatures = secrets.map((secret) => {
    const key = Buffer.from(secret.slice(prefix.length), 'base64');
    return `v1,${createHmac('sha256', key).update(`${id}.${timestamp}.${body}`).digest('base64')}`;
  });
  return {
    'webhook-id': id,
    'webhook-timestamp': timestamp,
    'webhook-signature': signatures.join(' '),
  };
}
