import { isAscii } from 'node:buffer';
import { TextDecoder } from 'node:util';
import { UnreadableFile } from './unreadable.ts';

type Encoding = 'UTF-8' | 'Windows-1252' | 'UTF-16 LE' | 'UTF-16 BE';

/** What was found out about a file's text while reading it. */
export interface FoundText {
  encoding: Encoding;
  byteOrderMark: boolean;
  /** A word that only reads right if the encoding was guessed right; looked for where it was a guess. */
  example?: string;
}

const decoderNames: Record<Exclude<Encoding, 'Windows-1252'>, string> = {
  'UTF-8': 'utf-8',
  'UTF-16 LE': 'utf-16le',
  'UTF-16 BE': 'utf-16be',
};

const saveAsUtf8 = 'Save or export the file again as "CSV UTF-8".';

/**
 * The characters of bytes 0x80 to 0x9F (WHATWG Encoding Standard, index windows-1252); all others are those of
 * Latin-1. The TextDecoder of Node 20 takes these for Latin-1 too.
 */
const windows1252 = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008DŽ\u008F\u0090‘’“”•–—˜™š›œ\u009DžŸ';

/** Bytes that Windows-1252 assigns to no character; text in it does not hold them. */
const unassigned = new Set([0x81, 0x8d, 0x8f, 0x90, 0x9d]);

/**
 * The length of the UTF-8 sequence of several bytes that begins at `at` (Unicode Standard, table 3-7), 0 if none
 * does, -1 if the bytes end before it can be told.
 */
function sequenceLength(bytes: Uint8Array, at: number): number {
  const lead = bytes[at] as number;
  const length =
    lead >= 0xc2 && lead <= 0xdf
      ? 2
      : lead >= 0xe0 && lead <= 0xef
        ? 3
        : lead >= 0xf0 && lead <= 0xf4
          ? 4
          : 0;
  for (let next = 1; next < length; next += 1) {
    const byte = bytes[at + next];
    if (byte === undefined) return -1;
    const low = next === 1 ? (lead === 0xe0 ? 0xa0 : lead === 0xf0 ? 0x90 : 0x80) : 0x80;
    const high = next === 1 ? (lead === 0xed ? 0x9f : lead === 0xf4 ? 0x8f : 0xbf) : 0xbf;
    if (byte < low || byte > high) return 0;
  }
  return length;
}

const latin1 = (bytes: Uint8Array) =>
  Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('latin1');

function lineBreaks(text: string): number {
  let count = 0;
  for (let at = text.indexOf('\n'); at !== -1; at = text.indexOf('\n', at + 1)) count += 1;
  return count;
}

/** UTF-16 without a mark shows by its zero bytes: the headings are plain letters. */
function zeroBytes(start: Uint8Array): Encoding | undefined {
  const pairs = Math.min(8, start.length >> 1);
  let even = 0;
  let odd = 0;
  for (let at = 0; at < pairs; at += 1) {
    if (start[2 * at] === 0) even += 1;
    if (start[2 * at + 1] === 0) odd += 1;
  }
  if (pairs < 2) return undefined;
  if (odd === pairs && even === 0) return 'UTF-16 LE';
  return even === pairs && odd === 0 ? 'UTF-16 BE' : undefined;
}

/** By its byte order mark or its zero bytes; undefined when the text itself has to tell. */
function byStart(start: Uint8Array): { encoding: Encoding; mark: number } | undefined {
  const [first, second, third] = start;
  if (first === 0xef && second === 0xbb && third === 0xbf) return { encoding: 'UTF-8', mark: 3 };
  if (first === 0xff && second === 0xfe) return { encoding: 'UTF-16 LE', mark: 2 };
  if (first === 0xfe && second === 0xff) return { encoding: 'UTF-16 BE', mark: 2 };
  const encoding = zeroBytes(start);
  return encoding && { encoding, mark: 0 };
}

interface PieceDecoder {
  /** `line` is the one on which the piece begins. */
  decode(bytes: Uint8Array, last: boolean, line: number): string;
}

const linesBefore = (text: string) => lineBreaks(text.replace(/\r\n?/g, '\n'));

/** UTF-8 or UTF-16, by the platform's decoder. */
class UnicodeText implements PieceDecoder {
  readonly #encoding: keyof typeof decoderNames;
  readonly #decoder: TextDecoder;

  constructor(encoding: keyof typeof decoderNames) {
    this.#encoding = encoding;
    this.#decoder = new TextDecoder(decoderNames[encoding], { fatal: true, ignoreBOM: true });
  }

  decode(bytes: Uint8Array, last: boolean, line: number): string {
    try {
      return this.#decoder.decode(bytes, { stream: !last });
    } catch {
      const lenient = new TextDecoder(decoderNames[this.#encoding]).decode(bytes);
      const before = lenient.slice(0, Math.max(lenient.indexOf('\uFFFD'), 0));
      throw new UnreadableFile(
        line + linesBefore(before),
        `The file holds bytes that are not ${this.#encoding} text.`,
        saveAsUtf8,
      );
    }
  }
}

/** Any bytes would be text in Windows-1252; so what speaks against it is weighed. */
class Windows1252Text implements PieceDecoder {
  readonly #found: FoundText;
  /** Single characters beyond ASCII, and pairs and more of them that would be one character in UTF-8. */
  #singles = 0;
  #sequences = 0;
  #firstSequence = 0;

  constructor(found: FoundText) {
    this.#found = found;
  }

  decode(bytes: Uint8Array, last: boolean, line: number): string {
    const text = latin1(bytes);
    for (let at = 0; at < bytes.length; at += 1) {
      const byte = bytes[at] as number;
      if (byte < 0x80) continue;
      if (unassigned.has(byte)) {
        throw new UnreadableFile(
          line + linesBefore(text.slice(0, at)),
          'The file holds bytes that are neither UTF-8 nor Windows-1252 text.',
          saveAsUtf8,
        );
      }
      const length = sequenceLength(bytes, at);
      if (length <= 0) {
        this.#singles += 1;
        continue;
      }
      if (this.#sequences === 0) this.#firstSequence = line + linesBefore(text.slice(0, at));
      this.#sequences += 1;
      at += length - 1;
    }
    if (last && this.#sequences > this.#singles) {
      throw new UnreadableFile(
        this.#firstSequence,
        'The file mixes UTF-8 with another encoding.',
        `${saveAsUtf8} If it was put together from several files, save each as UTF-8 first.`,
      );
    }
    const decoded = text.replace(/[\u0080-\u009f]/g, (byte) => windows1252.charAt(byte.charCodeAt(0) - 0x80));
    // biome-ignore lint/suspicious/noControlCharactersInRegex: everything beyond ASCII is meant
    this.#found.example ??= /[\p{L}\p{N}'’.-]*[^\u0000-\u007f][\p{L}\p{N}'’.-]*/u.exec(decoded)?.[0];
    return decoded;
  }
}

/** Makes every line end (CRLF, LF, or the lone CR of old spreadsheets) LF, and counts lines. */
class LineEnds {
  line = 1;
  #carriageReturn = false;

  take(decoded: string, last: boolean): string {
    let text = decoded;
    if (this.#carriageReturn && (text.length > 0 || last)) {
      this.#carriageReturn = false;
      if (!text.startsWith('\n')) text = `\n${text}`;
    }
    if (!last && text.endsWith('\r')) {
      this.#carriageReturn = true;
      text = text.slice(0, -1);
    }
    if (text.includes('\r')) text = text.replace(/\r\n?/g, '\n');
    this.line += lineBreaks(text);
    return text;
  }
}

/** How files begin that are no text, by the signatures of ISO 32000-2, the PNG specification and ITU-T T.81. */
const otherKinds: readonly { kind: string; start: readonly number[] }[] = [
  { kind: 'a PDF document', start: [0x25, 0x50, 0x44, 0x46, 0x2d] },
  { kind: 'a PNG picture', start: [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a] },
  { kind: 'a JPEG picture', start: [0xff, 0xd8, 0xff] },
];

function refuseOtherKinds(bytes: Uint8Array): void {
  const other = otherKinds.find(({ start }) => start.every((byte, at) => bytes[at] === byte));
  if (!other) return;
  throw new UnreadableFile(
    0,
    `This is ${other.kind}, not a text file, whatever its name says.`,
    'Choose the CSV file or the workbook that holds the rows.',
  );
}

/** Shorter than this, the start of a file is not looked at. */
const shortestStart = 16;

/**
 * The text of a file that comes in pieces, in whatever encoding it has, with every line end made LF, so that lines
 * can be counted. What was found out is written to `found`.
 *
 * The encoding is told by the byte order mark, else by zero bytes (UTF-16), else by the first character beyond ASCII:
 * UTF-8 if it is a sequence of that, else Windows-1252. What contradicts it later is refused, never guessed at.
 *
 * @throws UnreadableFile with the line
 */
export async function* decodeText(
  source: AsyncIterable<Uint8Array>,
  found: FoundText,
): AsyncGenerator<string> {
  const ends = new LineEnds();
  let decoder: PieceDecoder | undefined;
  let begun = false;
  let held: Uint8Array = new Uint8Array(0);

  const choose = (encoding: Encoding) => {
    found.encoding = encoding;
    decoder = encoding === 'Windows-1252' ? new Windows1252Text(found) : new UnicodeText(encoding);
  };

  /** Looks for the first byte that tells the encoding; how many bytes before it are plain ASCII. */
  const decide = (bytes: Uint8Array, last: boolean): number => {
    const at = isAscii(bytes) ? -1 : bytes.findIndex((byte) => byte >= 0x80);
    if (at === -1) return bytes.length;
    const length = sequenceLength(bytes, at);
    if (length !== -1 || last) choose(length === 0 ? 'Windows-1252' : 'UTF-8');
    return at;
  };

  const begin = (bytes: Uint8Array): Uint8Array => {
    begun = true;
    refuseOtherKinds(bytes);
    const told = byStart(bytes);
    if (told === undefined) return bytes;
    found.byteOrderMark = told.mark > 0;
    choose(told.encoding);
    return bytes.subarray(told.mark);
  };

  const take = (piece: Uint8Array, last: boolean): string => {
    const bytes = begun ? piece : begin(piece);
    const plain = decoder === undefined ? decide(bytes, last) : 0;
    if (decoder !== undefined) return ends.take(decoder.decode(bytes, last, ends.line), last);
    held = bytes.slice(plain);
    return ends.take(latin1(bytes.subarray(0, plain)), last);
  };

  for await (const chunk of source) {
    const bytes = held.length > 0 ? Buffer.concat([held, chunk]) : chunk;
    held = new Uint8Array(0);
    if (!begun && bytes.length < shortestStart) held = bytes;
    else yield take(bytes, false);
  }
  yield take(held, true);
}
