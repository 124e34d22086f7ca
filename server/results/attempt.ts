import { randomUUID } from 'node:crypto';
import type pg from 'pg';

/** A season of a conference, by their ids. */
export interface SeasonKey {
  readonly conferenceId: string;
  readonly seasonId: string;
}

const leaseMs = 15_000;
const renewedEveryMs = 3_000;

/**
 * An attempt to find one kind of result of a season, which nobody else makes meanwhile. It is a lease by the database's
 * clock, put off while the attempt lives, so it asks nothing of a connection and works behind a pooler. Should it run out
 * under an attempt that still lives, two find the same result: that costs time only.
 */
export class Attempt {
  readonly #pool: pg.Pool;
  /** Conference, season, kind, run. */
  readonly #values: readonly string[];
  readonly #renewing: NodeJS.Timeout;

  private constructor(pool: pg.Pool, values: readonly string[]) {
    this.#pool = pool;
    this.#values = values;
    this.#renewing = setInterval(() => {
      pool
        .query(
          `UPDATE result_underway SET until = now() + make_interval(secs => $5::float8 / 1000)
            WHERE conference_id = $1 AND season_id = $2 AND kind = $3 AND run = $4`,
          [...values, leaseMs],
        )
        .catch(() => {}); // whatever is asked next tells of it
    }, renewedEveryMs).unref();
  }

  /** Null: another attempt is under way, or there is no such season. */
  static async begin(
    pool: pg.Pool,
    kind: string,
    { conferenceId, seasonId }: SeasonKey,
  ): Promise<Attempt | null> {
    const values = [conferenceId, seasonId, kind, randomUUID()];
    const { rowCount } = await pool.query(
      `INSERT INTO result_underway (conference_id, season_id, kind, run, until)
       SELECT conference_id, id, $3, $4, now() + make_interval(secs => $5::float8 / 1000)
         FROM season WHERE conference_id = $1 AND id = $2
       ON CONFLICT (conference_id, season_id, kind) DO UPDATE SET run = EXCLUDED.run, until = EXCLUDED.until
        WHERE result_underway.until < now()`,
      [...values, leaseMs],
    );
    return rowCount === 1 ? new Attempt(pool, values) : null;
  }

  /** Never throws: what could not be given back runs out. */
  async end(): Promise<void> {
    clearInterval(this.#renewing);
    await this.#pool
      .query(
        'DELETE FROM result_underway WHERE conference_id = $1 AND season_id = $2 AND kind = $3 AND run = $4',
        [...this.#values],
      )
      .catch(() => {});
  }
}
