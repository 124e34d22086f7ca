import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { applicationSignIn, ownerSignIn } from './application-role.ts';
import { PrismaClient } from './generated/client.ts';

/** A place in the write-ahead log, as PostgreSQL writes it: two hexadecimal numbers of 32 bits. */
export type LogPlace = string;

const placeForm = /^[0-9A-F]{1,8}\/[0-9A-F]{1,8}$/;

/** As a number that can be compared. Undefined for what is no place. */
export function numberOfPlace(place: string): bigint | undefined {
  if (!placeForm.test(place)) return undefined;
  const [high, low] = place.split('/');
  return (BigInt(`0x${high}`) << 32n) + BigInt(`0x${low}`);
}

/** How old what the replica shows may be. */
const oldestMs = 10_000;
const lookEveryMs = 1_000;
const answerWithinMs = 2_000;

interface Seen {
  /** Before it was asked for, on this process's own clock: all that was committed by then is up to `place`. */
  readonly at: number;
  readonly place: bigint;
}

/**
 * A streaming replica of the database, to read from. Whether it may be is asked of the replica itself before each
 * reading, so that no clock of another machine is believed: it must replay the log of our own server, have reached
 * where that server was `oldestMs` ago, and where the reader's own last change was.
 */
export class Replica {
  readonly pool: pg.Pool;
  readonly prisma: PrismaClient;
  /** Why it is not read from just now, in words for an operator; undefined while it is. */
  reason: string | undefined = 'it has not been asked yet';
  readonly #primary: pg.Pool;
  readonly #told: (reason: string | undefined) => void;
  /** Where our server was, oldest first; none older than needed. */
  #seen: Seen[] = [];
  #identity: string | undefined;
  #timer: NodeJS.Timeout | undefined;

  /**
   * @param url names one server, not several behind one address
   * @param told is called when the reason changes
   */
  constructor(primary: pg.Pool, url: string, told: (reason: string | undefined) => void) {
    this.#primary = primary;
    this.#told = told;
    this.pool = new pg.Pool({
      application_name: 'crewmark reading',
      ...applicationSignIn(ownerSignIn(url)),
      connectionTimeoutMillis: answerWithinMs,
      query_timeout: 30_000,
      keepAlive: true,
      max: 20,
    });
    this.pool.on('error', () => {});
    this.pool.on('connect', (client) => client.on('error', () => {}));
    this.prisma = new PrismaClient({ adapter: new PrismaPg(this.pool, { disposeExternalPool: false }) });
  }

  /** Looks every second until `close`. */
  watch(): void {
    this.#timer = setInterval(() => void this.look(), lookEveryMs).unref();
    void this.look();
  }

  /** Notes where our server is, and whether the replica can be read from. Never throws. */
  async look(): Promise<void> {
    try {
      const at = performance.now();
      const { rows } = await this.#primary.query<{ place: string; identity: string }>(
        `SELECT pg_current_wal_flush_lsn()::text AS place,
                (SELECT system_identifier::text FROM pg_control_system()) AS identity`,
      );
      this.#identity = rows[0]!.identity;
      const place = numberOfPlace(rows[0]!.place)!;
      this.#seen = [...this.#seen.filter((seen) => seen.at > at - 2 * oldestMs), { at, place }];
    } catch {
      return; // our server is away: whatever is asked of it tells so
    }
    await this.mayBeRead();
  }

  /** @param since where the reader's own last change was, if they made one lately */
  async mayBeRead(since?: LogPlace): Promise<boolean> {
    const own = since === undefined ? 0n : numberOfPlace(since);
    if (own === undefined) return false;
    const place = await this.#replayed();
    return place !== undefined && place >= own;
  }

  /** It failed at a reading. */
  failed(): void {
    this.#because('it failed while it was read from');
  }

  async close(): Promise<void> {
    clearInterval(this.#timer);
    await this.prisma.$disconnect();
    await this.pool.end();
  }

  /** How far it has replayed our log; undefined, with the reason told, when it cannot be read from by anybody. */
  async #replayed(): Promise<bigint | undefined> {
    try {
      const { rows } = await this.pool.query<{ replays: boolean; place: string | null; identity: string }>({
        text: `SELECT pg_is_in_recovery() AS replays, pg_last_wal_replay_lsn()::text AS place,
                      (SELECT system_identifier::text FROM pg_control_system()) AS identity`,
        query_timeout: answerWithinMs,
      } as pg.QueryConfig);
      const { replays, place, identity } = rows[0]!;
      if (identity !== this.#identity) return this.#because('it is no copy of the server of DATABASE_URL');
      if (!replays) return this.#because('it was promoted and no longer follows the server of DATABASE_URL');
      const reached = numberOfPlace(place ?? '') ?? 0n;
      const asOf = this.#seen.findLast((seen) => seen.place <= reached)?.at;
      if (asOf === undefined || performance.now() - asOf > oldestMs)
        return this.#because(`it is more than ${oldestMs / 1000} seconds behind`);
      this.#because(undefined);
      return reached;
    } catch {
      return this.#because('it does not answer');
    }
  }

  #because(reason: string | undefined): undefined {
    if (reason === this.reason) return;
    this.reason = reason;
    this.#told(reason);
  }
}
