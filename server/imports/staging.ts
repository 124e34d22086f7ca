import { once } from 'node:events';
import type pg from 'pg';
import { from as copyFrom } from 'pg-copy-streams';
import type { FileKind, StagedProblem, StagedValue } from './files/file-kind.ts';

/** Text is sent to the server in pieces of about this many characters. */
const pieceLength = 65_536;

const escapes: Record<string, string> = { '\\': '\\\\', '\n': '\\n', '\r': '\\r', '\t': '\\t' };

/** One value in COPY's text format (PostgreSQL manual, COPY, "Text Format"). */
function copyable(value: StagedValue): string {
  if (value === null) return '\\N';
  let text: string;
  if (Array.isArray(value)) {
    text = `{${value.map((item) => `"${String(item).replace(/["\\]/g, '\\$&')}"`).join(',')}}`;
  } else if (typeof value === 'object') text = JSON.stringify(value);
  else if (typeof value === 'boolean') text = value ? 't' : 'f';
  else text = String(value);
  return text.replace(/[\\\n\r\t]/g, (character) => escapes[character] as string);
}

/**
 * The temporary table `staged`, filled by COPY while the file is still being read, so that no more than a piece of
 * the file is ever in memory. It goes with the transaction.
 */
export class Staging {
  readonly #client: pg.ClientBase;
  readonly #kind: FileKind;
  #copy: ReturnType<typeof copyFrom> | undefined;
  #failure: Error | undefined;
  #piece = '';
  #rows = 0;

  private constructor(client: pg.ClientBase, kind: FileKind) {
    this.#client = client;
    this.#kind = kind;
  }

  static async begin(client: pg.ClientBase, kind: FileKind): Promise<Staging> {
    const staging = new Staging(client, kind);
    const columns = kind.staging.map(({ name, type }) => `${name} ${type}`).join(', ');
    await client.query(`CREATE TEMPORARY TABLE staged (line integer NOT NULL, ${columns}) ON COMMIT DROP`);
    const names = kind.staging.map(({ name }) => name).join(', ');
    const copy = client.query(copyFrom(`COPY staged (line, ${names}) FROM STDIN`));
    copy.on('error', (error: Error) => {
      staging.#failure = error;
    });
    staging.#copy = copy;
    return staging;
  }

  get rows(): number {
    return this.#rows;
  }

  async add(line: number, values: readonly StagedValue[]): Promise<void> {
    this.#rows += 1;
    this.#piece += `${line}\t${values.map(copyable).join('\t')}\n`;
    if (this.#piece.length >= pieceLength) await this.#send();
  }

  async #send(): Promise<void> {
    if (this.#failure !== undefined) throw this.#failure;
    const piece = this.#piece;
    this.#piece = '';
    const copy = this.#copy;
    if (copy === undefined || piece === '') return;
    if (!copy.write(piece)) await Promise.race([once(copy, 'drain'), once(copy, 'close')]);
    if (this.#failure !== undefined) throw this.#failure;
  }

  /** Ends the COPY; the rows can then be queried. */
  async end(): Promise<void> {
    await this.#send();
    const copy = this.#copy;
    if (copy === undefined) return;
    this.#copy = undefined;
    await new Promise<void>((resolve, reject) => {
      copy.once('finish', resolve);
      copy.once('error', reject);
      copy.end();
    });
    await this.#client.query('ANALYZE staged');
  }

  /** Breaks the COPY off, so that the connection can be used again. */
  async abandon(): Promise<void> {
    const copy = this.#copy;
    // The server has ended the COPY itself, or is gone: nobody would answer.
    if (copy === undefined || this.#failure !== undefined) return;
    this.#copy = undefined;
    await new Promise<void>((resolve) => {
      copy.once('error', () => resolve());
      copy.once('close', () => resolve());
      this.#client.once('end', resolve);
      copy.destroy();
    });
  }

  /** Takes lines out that say the same as an earlier one, however it is written; their numbers, in order. */
  async withoutRepeats(): Promise<number[]> {
    const [{ columns: key }] = this.#kind.unique;
    const all = (table: string) => this.#kind.staging.map(({ name }) => `${table}.${name}`).join(', ');
    const { rows } = await this.#client.query<{ line: number }>(
      `DELETE FROM staged s
        USING (SELECT line, min(line) OVER (PARTITION BY ${key.join(', ')}) AS first FROM staged) g, staged f
        WHERE s.line = g.line AND g.line > g.first AND f.line = g.first
          AND (${all('s')}) IS NOT DISTINCT FROM (${all('f')})
       RETURNING s.line`,
    );
    this.#rows -= rows.length;
    return rows.map(({ line }) => line).sort((a, b) => a - b);
  }

  /** Lines that say something about the same thing as an earlier line. At most `most`, with the count of all. */
  async duplicates(most: number): Promise<{ listed: StagedProblem[]; count: number }> {
    const listed: StagedProblem[] = [];
    let count = 0;
    for (const { columns, heading, shows, says } of this.#kind.unique) {
      const { rows } = await this.#client.query<{ line: number; first: number; value: string; all: number }>(
        `SELECT line, first, value, count(*) OVER ()::int AS all
           FROM (SELECT line, min(line) OVER (PARTITION BY ${columns.join(', ')}) AS first, ${shows}::text AS value
                   FROM staged) AS grouped
          WHERE line > first ORDER BY line LIMIT $1`,
        [most],
      );
      count += rows[0]?.all ?? 0;
      for (const row of rows) {
        listed.push({
          line: row.line,
          column: heading,
          value: row.value,
          problem: `Line ${row.first} ${says}.`,
          fix: `Keep line ${row.first} or line ${row.line}, not both.`,
          alike: { problem: `An earlier line ${says}.`, fix: 'Keep one of the lines.' },
        });
      }
    }
    return { listed, count };
  }
}
