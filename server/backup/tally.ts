import { createHash } from 'node:crypto';
import { Transform } from 'node:stream';

const newline = 10;

interface Told {
  readonly rows: number;
  readonly bytes: number;
  readonly sha256: string;
}

/** Passes a table's rows on and counts them: in COPY's text each row is a line, and a line break in a value is escaped. */
export class Tally extends Transform implements Told {
  readonly #hash = createHash('sha256');
  readonly #check: ((told: Told) => void) | undefined;
  rows = 0;
  bytes = 0;
  sha256 = '';

  /** @param check called before the end; what it throws fails the stream */
  constructor(check?: (told: Told) => void) {
    super();
    this.#check = check;
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: () => void): void {
    this.#hash.update(chunk);
    this.bytes += chunk.length;
    for (let at = chunk.indexOf(newline); at !== -1; at = chunk.indexOf(newline, at + 1)) this.rows += 1;
    this.push(chunk);
    done();
  }

  override _flush(done: (error?: Error) => void): void {
    this.sha256 = this.#hash.digest('hex');
    try {
      this.#check?.(this);
      done();
    } catch (error) {
      done(error as Error);
    }
  }
}
