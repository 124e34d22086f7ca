import type pg from 'pg';

/** Something that runs SQL: a pool, or one connection inside a transaction. */
export type Queryable = Pick<pg.ClientBase, 'query'>;

/** Runs `work` on one connection in one transaction: committed when it returns, rolled back when it throws. */
export async function inTransaction<Result>(
  pool: pg.Pool,
  work: (client: pg.PoolClient) => Promise<Result>,
): Promise<Result> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    await client.query('BEGIN');
    const result = await work(client);
    await client.query('COMMIT');
    return result;
  } catch (error) {
    await client.query('ROLLBACK').catch((rollbackError: Error) => {
      broken = rollbackError;
    });
    throw error;
  } finally {
    client.release(broken);
  }
}
