import fc from 'fast-check';
import { Webhook, WebhookVerificationError } from 'standardwebhooks';
import { expect, test } from 'vitest';
import { newSecret, signatureHeaders } from '../../server/webhooks/signature.ts';

// Signatures are checked by the library of the Standard Webhooks specification, which has an HMAC of its own
// (fast-sha256).

const now = new Date();

test('a receiver with the secret takes what was signed, whatever is in it, and nothing that was changed', () => {
  fc.assert(
    fc.property(fc.uuid(), fc.string({ unit: 'binary' }), (id, text) => {
      const secret = newSecret();
      const body = JSON.stringify({ text });
      const headers = signatureHeaders({ id, at: now, body }, [secret]);
      expect(new Webhook(secret).verify(body, headers)).toEqual({ text });
      const refuses = (work: () => unknown) => expect(work).toThrow(WebhookVerificationError);
      refuses(() => new Webhook(secret).verify(`${body} `, headers));
      refuses(() => new Webhook(secret).verify(body, { ...headers, 'webhook-id': `${id}x` }));
      refuses(() => new Webhook(newSecret()).verify(body, headers));
      const later = String(Number(headers['webhook-timestamp']) + 1);
      refuses(() => new Webhook(secret).verify(body, { ...headers, 'webhook-timestamp': later }));
    }),
    { numRuns: 50 },
  );
});

test('while a secret is replaced, a receiver may know either; what was sent long ago is refused', () => {
  const [secret, earlier] = [newSecret(), newSecret()];
  const headers = signatureHeaders({ id: 'an-id', at: now, body: '{}' }, [secret, earlier]);
  expect(headers['webhook-signature']!.split(' ')).toHaveLength(2);
  for (const known of [secret, earlier]) expect(new Webhook(known).verify('{}', headers)).toEqual({});
  const old = signatureHeaders({ id: 'an-id', at: new Date(now.getTime() - 3600_000), body: '{}' }, [secret]);
  expect(() => new Webhook(secret).verify('{}', old)).toThrow('too old');
});

test('a secret has 32 bytes, more than the 24 that the specification asks for, and is never the same', () => {
  const secrets = Array.from({ length: 100 }, newSecret);
  expect(new Set(secrets).size).toBe(100);
  for (const secret of secrets)
    expect([secret.slice(0, 6), Buffer.from(secret.slice(6), 'base64').length]).toEqual(['whsec_', 32]);
});
