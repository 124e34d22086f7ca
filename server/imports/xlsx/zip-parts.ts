import type { Readable } from 'node:stream';
import yauzl from 'yauzl';
import { UnreadableFile } from '../csv/unreadable.ts';

/** A workbook is a ZIP of XML parts. What is beyond these limits is no list of games or plays, but made to do harm. */
export const limits = {
  /** Bytes of the file. 100,000 plays have about 10 MB. */
  file: 50 * 1024 * 1024,
  parts: 2000,
  /** Bytes of one part when unpacked. */
  part: 500 * 1024 * 1024,
};

const tooLarge = (what: string) =>
  new UnreadableFile(0, `The workbook is too large: ${what}.`, 'Split it, or save the sheet as "CSV UTF-8".');

const broken = () =>
  new UnreadableFile(
    0,
    'The file looks like a spreadsheet, but cannot be opened as one.',
    'Open it in your spreadsheet program and save it again as a workbook (.xlsx) or as "CSV UTF-8".',
  );

/** The bytes of an uploaded workbook: its list of parts is at the end, so it is collected, up to the limit. */
export async function collected(source: AsyncIterable<Uint8Array>): Promise<Buffer> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of source) {
    length += chunk.length;
    if (length > limits.file) throw tooLarge(`more than ${limits.file / 1024 / 1024} MB`);
    chunks.push(chunk);
  }
  return Buffer.concat(chunks);
}

/** The parts of a workbook by name, each to be read as a stream. */
export class ZipParts {
  readonly #zip: yauzl.ZipFile;
  readonly #entries: ReadonlyMap<string, yauzl.Entry>;

  private constructor(zip: yauzl.ZipFile, entries: ReadonlyMap<string, yauzl.Entry>) {
    this.#zip = zip;
    this.#entries = entries;
  }

  /** @throws UnreadableFile when it is no ZIP, or one beyond the limits */
  static open(bytes: Buffer): Promise<ZipParts> {
    return new Promise((resolve, reject) => {
      yauzl.fromBuffer(bytes, { lazyEntries: true, validateEntrySizes: true }, (error, zip) => {
        if (error) return reject(broken());
        const entries = new Map<string, yauzl.Entry>();
        zip.on('error', () => reject(broken()));
        zip.on('end', () => resolve(new ZipParts(zip, entries)));
        zip.on('entry', (entry: yauzl.Entry) => {
          if (entries.size >= limits.parts) return reject(tooLarge(`more than ${limits.parts} parts`));
          if (entry.isEncrypted()) return reject(broken());
          entries.set(entry.fileName.toLowerCase(), entry);
          zip.readEntry();
        });
        zip.readEntry();
      });
    });
  }

  has(name: string): boolean {
    return this.#entries.has(name.toLowerCase());
  }

  /** The part's bytes as they are unpacked; nothing when there is no such part. */
  async *read(name: string): AsyncGenerator<Uint8Array> {
    const entry = this.#entries.get(name.toLowerCase());
    if (entry === undefined) return;
    const stream = await new Promise<Readable>((resolve, reject) => {
      this.#zip.openReadStream(entry, (error, opened) => (error ? reject(broken()) : resolve(opened)));
    });
    let length = 0;
    try {
      for await (const chunk of stream as AsyncIterable<Uint8Array>) {
        length += chunk.length;
        // Counted as it comes: what the ZIP says of the size may be a lie.
        if (length > limits.part) throw tooLarge('a part of it unpacks to more than 500 MB');
        yield chunk;
      }
    } catch (error) {
      throw error instanceof UnreadableFile ? error : broken();
    } finally {
      stream.destroy();
    }
  }
}
