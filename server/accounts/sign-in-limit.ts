import { createHash } from 'node:crypto';
import { isIPv6 } from 'node:net';
import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { Problem } from '../web/problem.ts';

/**
 * How failures of one kind hold up the next attempt: `free` of them do not; after each further one the wait doubles
 * from `first` to `longest` seconds. `window` seconds after the first failure all are forgotten.
 */
export type Delay = { free: number; first: number; longest: number; window: number };

const hour = 3600;
const day = 24 * hour;

/**
 * What is counted. Whoever guesses at an account from elsewhere is slowed down, and its owner is not, on a device where
 * they have signed in before: OWASP, "Slow Down Online Guessing Attacks with Device Cookies". One account takes fewer
 * than 100 guesses a day from all unknown devices together (NIST SP 800-63B, section 3.2.2, allows 100 in a row).
 */
export const delays = {
  /** One e-mail from one network, on devices that the account does not know. */
  pair: { free: 5, first: 30, longest: 15 * 60, window: day },
  /** One e-mail, from everywhere that the account does not know. */
  email: { free: 30, first: 60, longest: hour, window: day },
  /** One network, whichever the e-mail: it may be a whole office or press box behind one router. */
  network: { free: 100, first: 60, longest: 15 * 60, window: 15 * 60 },
  /** One e-mail on one device that the account knows. */
  device: { free: 10, first: 30, longest: hour, window: day },
} as const satisfies Record<string, Delay>;

/** The sentence for who has to wait; it is given "30 seconds" or "2 minutes". */
type Words = (wait: string) => string;
const ofPasswords: Words = (wait) =>
  `There were too many sign-ins that failed. Try again in ${wait}, or ask your coordinator for a link to set a new password.`;
export const ofCodes: Words = (wait) =>
  `There were too many codes that did not fit. Try again in ${wait}; your password was right.`;

export class TooManyAttempts extends Problem {
  override name = 'TooManyAttempts';
  constructor(retryAfterSeconds: number, words: Words = ofPasswords) {
    const seconds = Math.max(1, Math.ceil(retryAfterSeconds));
    const minutes = Math.ceil(seconds / 60);
    const wait = seconds < 60 ? `${seconds} seconds` : `${minutes} ${minutes === 1 ? 'minute' : 'minutes'}`;
    super(429, 'Too many attempts', words(wait), [], { 'retry-after': String(seconds) });
  }
}

export type Attempt = {
  /** Or, where codes are counted, `personKey`. */
  email: string;
  /** Where the request came from. */
  address: string;
  /** The device's token, if the request brought one. */
  device: string | undefined;
};

export type SignInLimit = {
  /** Counts an attempt before it is tried, so that many at once cannot slip through. @throws TooManyAttempts */
  count(attempt: Attempt): Promise<void>;
  /** The attempt was right: it does not count after all. */
  forget(attempt: Attempt): Promise<void>;
};

/**
 * Attempts are counted in the database, so that several processes share one count and a restart keeps it.
 * @param knows whether an account of this e-mail knows the device
 * @param words what is told to who has to wait
 */
export function signInLimit(
  pool: pg.Pool,
  knows: (email: string, device: string) => Promise<boolean>,
  words?: Words,
): SignInLimit {
  const kindsOf = async ({ email, device }: Attempt): Promise<(keyof typeof delays)[]> =>
    // Always in this order: two transactions that count the same keys wait for each other instead of locking up.
    device !== undefined && (await knows(email, device)) ? ['device'] : ['network', 'email', 'pair'];
  return {
    async count(attempt) {
      const kinds = await kindsOf(attempt);
      // Together: an attempt that one count refuses was not made, and the others leave it out.
      await inTransaction(pool, async (client) => {
        for (const kind of kinds) await countOne(client, keyOf(kind, attempt), delays[kind], words);
      });
    },
    async forget(attempt) {
      for (const kind of await kindsOf(attempt)) {
        const key = keyOf(kind, attempt);
        // One's own right password says nothing of what others at the address are trying.
        if (kind === 'network') {
          await pool.query('UPDATE sign_in_attempt SET failures = failures - 1 WHERE key = $1', [key]);
        } else await pool.query('DELETE FROM sign_in_attempt WHERE key = $1', [key]);
      }
    },
  };
}

/** Counts one under a key, unless the wait after earlier ones is not over. @throws TooManyAttempts */
export async function countOne(
  db: Queryable,
  key: string,
  { free, first, longest, window }: Delay,
  words?: Words,
): Promise<void> {
  const { rowCount } = await db.query(
    // clock_timestamp(): one that waited for another's count has a now() from before it.
    `INSERT INTO sign_in_attempt AS a (key, failures, open_at, forgotten_at)
     VALUES ($1, 1, clock_timestamp(), clock_timestamp() + make_interval(secs => $5::float8))
     ON CONFLICT (key) DO UPDATE SET (failures, open_at, forgotten_at) = (
       SELECT n, clock_timestamp() + CASE WHEN n < $2::int THEN interval '0'
                                     ELSE make_interval(secs => least($4::float8, $3::float8 * 2 ^ least(n - $2::int, 30))) END,
              CASE WHEN n = 1 THEN clock_timestamp() + make_interval(secs => $5::float8) ELSE a.forgotten_at END
         FROM (SELECT CASE WHEN a.forgotten_at <= clock_timestamp() THEN 1 ELSE a.failures + 1 END AS n) AS counted)
     WHERE a.open_at <= clock_timestamp() OR a.forgotten_at <= clock_timestamp()`,
    [key, free, first, longest, window],
  );
  if (rowCount === 1) return;
  const { rows } = await db.query<{ wait: number }>(
    `SELECT extract(epoch FROM least(open_at, forgotten_at) - clock_timestamp())::float8 AS wait FROM sign_in_attempt WHERE key = $1`,
    [key],
  );
  throw new TooManyAttempts(rows[0]?.wait ?? 1, words);
}

export async function removeOldAttempts(pool: pg.Pool): Promise<void> {
  await pool.query('DELETE FROM sign_in_attempt WHERE forgotten_at < now()');
}

function keyOf(kind: keyof typeof delays, { email, address, device }: Attempt): string {
  const parts = {
    pair: [email, network(address)],
    email: [email],
    network: [network(address)],
    device: [email, device],
  };
  return `${kind}:${createHash('sha256').update(JSON.stringify(parts[kind])).digest('hex')}`;
}

/** One household or office holds a /64 of IPv6, so that counting single addresses would count nothing. */
export function network(address: string): string {
  if (!isIPv6(address) || address.startsWith('::ffff:')) return address;
  const [head = '', tail = ''] = address.split('::');
  const first = head.split(':').filter(Boolean);
  const last = tail.split(':').filter(Boolean);
  const groups = [...first, ...Array(Math.max(0, 8 - first.length - last.length)).fill('0'), ...last];
  return groups.slice(0, 4).join(':');
}
