import pg from 'pg';

/** Something that answers one prepared query: a pool, a connection, or a pipeline. */
export interface Asking {
  query<Row extends pg.QueryResultRow>(config: pg.QueryConfig): Promise<pg.QueryResult<Row>>;
}

// SQLSTATE classes by which the server says that the connection, not the query, is at fault (PostgreSQL, appendix A).
const connectionLost = /^(08|57P)/;

/**
 * One connection that many short reads share: each is sent at once behind those not yet answered, so that a busy
 * server waits for no connection and wakes none up. Not for transactions, nor for what may wait for a lock: all
 * behind it would wait too.
 *
 * Opened by the first query. When it breaks, what it had not answered is asked of `otherwise`, and the next query
 * opens it anew.
 */
export class Pipeline implements Asking {
  readonly #settings: pg.ClientConfig;
  readonly #otherwise: Asking;
  #client: Promise<pg.Client> | undefined;
  #closed = false;

  constructor(settings: pg.ClientConfig, otherwise: Asking) {
    this.#settings = settings;
    this.#otherwise = otherwise;
  }

  async query<Row extends pg.QueryResultRow>(config: pg.QueryConfig): Promise<pg.QueryResult<Row>> {
    if (this.#closed) return this.#otherwise.query<Row>(config);
    try {
      const client = await (this.#client ?? this.#open());
      return await client.query<Row>(config);
    } catch (error) {
      if (error instanceof pg.DatabaseError && !connectionLost.test(error.code ?? '')) throw error;
      return this.#otherwise.query<Row>(config);
    }
  }

  async close(): Promise<void> {
    this.#closed = true;
    const client = await this.#client?.catch(() => undefined);
    await client?.end();
  }

  #open(): Promise<pg.Client> {
    const client = new pg.Client({ ...this.#settings, pipeline: true });
    const opened = client.connect().then(() => client);
    const forget = () => {
      if (this.#client === opened) this.#client = undefined;
    };
    opened.catch(forget);
    client.on('error', forget);
    client.on('end', forget);
    this.#client = opened;
    return opened;
  }
}
