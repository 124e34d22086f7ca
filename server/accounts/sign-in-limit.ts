import { createHash } from 'node:crypto';
import { isIPv6 } from 'node:net';
import type pg from 'pg';
import { RateLimiterPostgres, RateLimiterRes } from 'rate-limiter-flexible';
import { Problem } from '../web/problem.ts';

/** Failures allowed within the window. An address may be a whole office or press box behind one router. */
export const limits = { perEmail: 10, perAddress: 100, windowSeconds: 15 * 60 };

export class TooManyAttempts extends Problem {
  override name = 'TooManyAttempts';
  constructor(retryAfterSeconds: number) {
    const minutes = Math.max(1, Math.ceil(retryAfterSeconds / 60));
    super(
      429,
      'Too many attempts',
      `There were too many sign-ins that failed. Try again in ${minutes} ${minutes === 1 ? 'minute' : 'minutes'}, or ask your coordinator for a link to set a new password.`,
      [],
      { 'retry-after': String(Math.ceil(retryAfterSeconds)) },
    );
  }
}

export type SignInLimit = {
  /** Counts an attempt before it is tried, so that many at once cannot slip through. Throws TooManyAttempts. */
  count(email: string, address: string): Promise<void>;
  /** The attempt was right: it does not count after all. */
  forget(email: string, address: string): Promise<void>;
};

/** Attempts are counted in the database, so that several processes share one count and a restart keeps it. */
export function signInLimit(pool: pg.Pool): SignInLimit {
  const limiter = (keyPrefix: string, points: number) =>
    new RateLimiterPostgres({
      storeClient: pool,
      storeType: 'pool',
      tableName: 'sign_in_attempt',
      tableCreated: true,
      keyPrefix,
      points,
      duration: limits.windowSeconds,
      clearExpiredByTimeout: false,
    });
  const byEmail = limiter('email', limits.perEmail);
  const byAddress = limiter('address', limits.perAddress);
  const consume = async (counter: RateLimiterPostgres, key: string) => {
    try {
      await counter.consume(key);
    } catch (refused) {
      if (refused instanceof RateLimiterRes) throw new TooManyAttempts(refused.msBeforeNext / 1000);
      throw refused;
    }
  };
  return {
    async count(email, address) {
      await consume(byAddress, hashed(network(address)));
      await consume(byEmail, hashed(email));
    },
    async forget(email, address) {
      await byEmail.delete(hashed(email));
      await byAddress.reward(hashed(network(address)));
    },
  };
}

export async function removeOldAttempts(pool: pg.Pool): Promise<void> {
  await pool.query('DELETE FROM sign_in_attempt WHERE expire < $1', [Date.now()]);
}

/** One household or office holds a /64 of IPv6, so that counting single addresses would count nothing. */
function network(address: string): string {
  if (!isIPv6(address) || address.startsWith('::ffff:')) return address;
  const [head = '', tail = ''] = address.split('::');
  const first = head.split(':').filter(Boolean);
  const last = tail.split(':').filter(Boolean);
  const groups = [...first, ...Array(Math.max(0, 8 - first.length - last.length)).fill('0'), ...last];
  return groups.slice(0, 4).join(':');
}

const hashed = (text: string) => createHash('sha256').update(text).digest('hex');
