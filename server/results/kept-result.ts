import { setTimeout } from 'node:timers/promises';
import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { Attempt, type SeasonKey } from './attempt.ts';

export type { SeasonKey } from './attempt.ts';

/** How often whoever waits for another process looks. */
const lookAgainMs = 100;

/** What a result rests on: the released reports as of a revision, and all else as jsonb. */
interface Grounds<Basis> {
  readonly revision: number;
  readonly basis: Basis;
}

/** A sort of result of a season that takes long to find and is kept until what it rests on has changed. */
export interface ResultKind<Basis, Material, Result> {
  readonly name: string;
  /** Raised when the way of computing changes results: what an earlier program kept is then found anew. */
  readonly method: number;
  /** An SQL expression of a row `s` of `season`: all that the result rests on beside released counts, as jsonb. */
  readonly basis: string;
  /** Brings up to date what `read` reads, in transactions of its own. */
  prepare?(pool: pg.Pool, season: SeasonKey): Promise<void>;
  /** Reads in the snapshot of the grounds. Null: a change came between `prepare` and the snapshot; prepare again. */
  read(client: Queryable, season: SeasonKey): Promise<Material | null>;
  /** Of numbers, texts, arrays and plain objects: what JSON can hold. */
  compute(material: Material, grounds: Grounds<Basis>): Promise<Result>;
}

/**
 * The results of seasons, never stale and each found once: kept in the database with the input revision (database
 * triggers raise it at whatever changes a released count), the basis and the method they rest on, and found anew
 * when one of the three is another. Who asks while a result is being found waits for it, in this process and, by a
 * lease (`Attempt`), in others. When finding fails, whoever asked for that run is told; those who waited try themselves.
 */
export class KeptResults {
  readonly #pool: pg.Pool;
  readonly #underway = new Map<string, Promise<unknown>>();

  constructor(pool: pg.Pool) {
    this.#pool = pool;
  }

  /**
   * The same as a replica has them: a result that is kept there is what was current as of its state. One that is not is
   * refused and not found by the primary: with what else is read from the replica it would be of two moments.
   */
  static asKeptOn(replica: Queryable): Pick<KeptResults, 'current'> {
    return {
      async current(kind, season) {
        const { kept } = await readState(replica, kind, season);
        if (kept === null) throw new Error(`The replica has no ${kind.name} of its state of the season.`);
        return kept;
      },
    };
  }

  /** @throws RangeError when there is no such season, and what `kind` throws. */
  async current<Basis, Material, Result>(
    kind: ResultKind<Basis, Material, Result>,
    season: SeasonKey,
  ): Promise<Result> {
    const key = `${kind.name} ${season.conferenceId} ${season.seasonId}`;
    for (;;) {
      await this.#underway.get(key)?.catch(() => {});
      // Whoever waited may have caused a newer revision than the one that was being found: look again.
      const { kept } = await readState(this.#pool, kind, season);
      if (kept !== null) return kept;
      if (!this.#underway.has(key)) break;
    }
    const found = this.#findAlone(kind, season).finally(() => this.#underway.delete(key));
    this.#underway.set(key, found);
    return found;
  }

  /** One at a time over all processes. No connection is held while another attempt is waited for, nor while computing. */
  async #findAlone<Basis, Material, Result>(
    kind: ResultKind<Basis, Material, Result>,
    season: SeasonKey,
  ): Promise<Result> {
    for (;;) {
      const attempt = await Attempt.begin(this.#pool, kind.name, season);
      try {
        const { kept } = await readState(this.#pool, kind, season);
        if (kept !== null) return kept;
        if (attempt) return await find(this.#pool, kind, season);
      } finally {
        await attempt?.end();
      }
      await setTimeout(lookAgainMs);
    }
  }
}

async function find<Basis, Material, Result>(
  pool: pg.Pool,
  kind: ResultKind<Basis, Material, Result>,
  season: SeasonKey,
): Promise<Result> {
  for (;;) {
    await kind.prepare?.(pool, season);
    const { grounds, material } = await inTransaction(pool, async (client) => {
      await client.query('SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY');
      const grounds = await readState(client, kind, season);
      return { grounds, material: await kind.read(client, season) };
    });
    if (material === null) continue;
    const result = JSON.stringify(await kind.compute(material, grounds));
    await pool.query(
      `INSERT INTO kept_result (conference_id, season_id, kind, input_revision, basis, method, result)
       SELECT conference_id, id, $3, $4, $5, $6, $7 FROM season WHERE conference_id = $1 AND id = $2
       ON CONFLICT (conference_id, season_id, kind) DO UPDATE
         SET input_revision = EXCLUDED.input_revision, basis = EXCLUDED.basis, method = EXCLUDED.method,
             result = EXCLUDED.result, computed_at = now()`,
      [
        season.conferenceId,
        season.seasonId,
        kind.name,
        grounds.revision,
        JSON.stringify(grounds.basis),
        kind.method,
        result,
      ],
    );
    // Just what whoever asks later is given.
    return JSON.parse(result) as Result;
  }
}

/** The season's grounds as they are, and the kept result when it rests on just these. One statement, one moment. */
async function readState<Basis, Material, Result>(
  db: Queryable,
  kind: ResultKind<Basis, Material, Result>,
  { conferenceId, seasonId }: SeasonKey,
): Promise<Grounds<Basis> & { readonly kept: Result | null }> {
  const { rows } = await db.query<{ revision: string; basis: Basis; kept: Result | null }>({
    name: `kept-${kind.name}`,
    text: `SELECT now.revision, now.basis, k.result AS kept
             FROM (SELECT s.conference_id, s.id, s.input_revision AS revision, ${kind.basis} AS basis
                     FROM season s WHERE s.conference_id = $1 AND s.id = $2) now
             LEFT JOIN kept_result k ON k.conference_id = now.conference_id AND k.season_id = now.id AND k.kind = $3
              AND k.method = $4 AND k.input_revision = now.revision AND k.basis = now.basis`,
    values: [conferenceId, seasonId, kind.name, kind.method],
  });
  const row = rows[0];
  if (!row) throw new RangeError(`no season ${seasonId}`);
  return { ...row, revision: Number(row.revision) };
}

/**
 * An SQL expression of a row `s` of `season`: the grounds and methods of several kinds together, to note beside what
 * is made from their results and to compare later.
 */
export function groundsOf(
  kinds: readonly Pick<ResultKind<never, never, never>, 'name' | 'method' | 'basis'>[],
) {
  const each = kinds.map(({ name, method, basis }) => `'${name}', jsonb_build_array(${method}, ${basis})`);
  return `jsonb_build_object('revision', s.input_revision, ${each.join(', ')})`;
}
