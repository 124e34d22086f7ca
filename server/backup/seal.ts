import { createHash, type Hash } from 'node:crypto';
import type { FileHandle } from 'node:fs/promises';
import { Transform } from 'node:stream';

// A backup is a ZIP whose comment, the very last of the file, ends with the SHA-256 of all bytes before it: any ZIP
// program opens it, and a byte that was changed or is missing is found wherever it is.

const digestLength = 64;
const words = 'Crewmark backup. SHA-256 of all bytes before this: ';

/** The ZIP's comment as it is written first, with room for the digest. */
export const commentWithRoom = words + '0'.repeat(digestLength);

/** Passes a file's bytes on and puts the digest into the room at their end. */
export class Sealing extends Transform {
  readonly #hash: Hash = createHash('sha256');
  #held = Buffer.alloc(0);

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: () => void): void {
    const all = Buffer.concat([this.#held, chunk]);
    const ready = all.subarray(0, Math.max(0, all.length - digestLength));
    this.#held = Buffer.from(all.subarray(ready.length));
    if (ready.length > 0) {
      this.#hash.update(ready);
      this.push(ready);
    }
    done();
  }

  override _flush(done: () => void): void {
    this.push(Buffer.from(this.#hash.digest('hex'), 'latin1'));
    done();
  }
}

/** Whether the file's bytes are those that its seal was made of. */
export async function sealHolds(file: FileHandle): Promise<boolean> {
  const { size } = await file.stat();
  const sealed = size - digestLength;
  if (sealed <= 0) return false;
  const hash = createHash('sha256');
  for await (const chunk of file.createReadStream({ start: 0, end: sealed - 1, autoClose: false })) {
    hash.update(chunk);
  }
  const { buffer } = await file.read(Buffer.alloc(digestLength), 0, digestLength, sealed);
  return hash.digest('hex') === buffer.toString('latin1');
}
