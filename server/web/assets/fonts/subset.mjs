// Makes the page's fonts: `node server/web/assets/fonts/subset.mjs`, after a change of characters or weights here or of
// the package. The style sheet's `unicode-range` says the same characters.
import { readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { convert } from 'fontverter';
import subsetFont from 'subset-font';

/** As the package divides the font (its `unicode.json`). */
const ranges = JSON.parse(await readFile(from('unicode.json'), 'utf8'));

for (const script of ['latin', 'latin-ext']) {
  const font = await subsetFont(
    await readFile(from(`files/source-sans-3-${script}-wght-normal.woff2`)),
    characters(ranges[script]),
    {
      targetFormat: 'truetype',
      variationAxes: { wght: { min: 400, max: 700, default: 400 } }, // the weights that the style sheet asks for
      noLayoutClosure: true, // small capitals and other forms that nothing asks for stay away; kerning stays
    },
  );
  const named = withName(font, 'Crewmark Text');
  await writeFile(new URL(`./${script}.woff2`, import.meta.url), await convert(named, 'woff2'));
}

/**
 * The font under another name: a changed version must not bear the reserved one (SIL Open Font License 1.1, clause 3).
 * Its copyright stays. Tables are laid out as the OpenType specification says ("Organization of an OpenType Font",
 * "name"); checksums are made anew by the conversion to WOFF2.
 */
function withName(font, name) {
  const records = [];
  const count = font.readUInt16BE(4);
  for (let at = 12; at < 12 + 16 * count; at += 16) records.push(at);
  const tables = records.map((at) => {
    const offset = font.readUInt32BE(at + 8);
    const tag = font.toString('latin1', at, at + 4);
    const bytes = font.subarray(offset, offset + font.readUInt32BE(at + 12));
    return { tag, bytes: tag === 'name' ? nameTable(copyrightIn(bytes), name) : bytes };
  });
  const head = Buffer.from(font.subarray(0, 12 + 16 * count));
  const parts = [head];
  let offset = head.length;
  tables.forEach(({ bytes }, index) => {
    head.writeUInt32BE(offset, 12 + 16 * index + 8);
    head.writeUInt32BE(bytes.length, 12 + 16 * index + 12);
    const padded = Buffer.concat([bytes, Buffer.alloc((4 - (bytes.length % 4)) % 4)]);
    parts.push(padded);
    offset += padded.length;
  });
  return Buffer.concat(parts);
}

/** Platform Windows, Unicode, English (3, 1, 0x409): copyright, family, style, unique name, full name, PostScript's. */
function nameTable(copyright, name) {
  const texts = new Map([
    [0, copyright],
    [1, name],
    [2, 'Regular'],
    [3, name],
    [4, name],
    [6, name.replaceAll(' ', '')],
  ]);
  const head = Buffer.alloc(6 + 12 * texts.size);
  head.writeUInt16BE(texts.size, 2);
  head.writeUInt16BE(head.length, 4);
  const strings = [];
  let [at, offset] = [6, 0];
  for (const [id, text] of texts) {
    const bytes = Buffer.from(text, 'utf16le').swap16();
    for (const [index, value] of [3, 1, 0x409, id, bytes.length, offset].entries())
      head.writeUInt16BE(value, at + 2 * index);
    strings.push(bytes);
    at += 12;
    offset += bytes.length;
  }
  return Buffer.concat([head, ...strings]);
}

function copyrightIn(table) {
  for (let at = 6; at < 6 + 12 * table.readUInt16BE(2); at += 12) {
    if (table.readUInt16BE(at) !== 3 || table.readUInt16BE(at + 6) !== 0) continue;
    const start = table.readUInt16BE(4) + table.readUInt16BE(at + 10);
    return Buffer.from(table.subarray(start, start + table.readUInt16BE(at + 8)))
      .swap16()
      .toString('utf16le');
  }
  throw new Error('The font does not say whose it is');
}

function from(file) {
  return createRequire(import.meta.url).resolve(`@fontsource-variable/source-sans-3/${file}`);
}

/** `U+0000-00FF, U+0131` as a text of those characters. */
function characters(range) {
  return range
    .split(',')
    .flatMap((part) => {
      const [first, last = first] = part.trim().slice(2).split('-');
      const start = Number.parseInt(first, 16);
      return Array.from({ length: Number.parseInt(last, 16) - start + 1 }, (_, at) => start + at);
    })
    .map((codePoint) => String.fromCodePoint(codePoint))
    .join('');
}
