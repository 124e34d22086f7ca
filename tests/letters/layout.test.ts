import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Inline } from '../../server/letters/document-tree.ts';
import { columnWidths, keepEndTogether, type Piece, paginate } from '../../server/letters/pdf/layout.ts';
import { wrapLines } from '../../server/letters/pdf/lines.ts';
import { styles } from '../../server/letters/pdf/style.ts';

const words = fc
  .array(fc.string({ unit: fc.constantFrom(...'abcdefghiåéñΩж-/'.split('')), minLength: 1, maxLength: 30 }), {
    maxLength: 60,
  })
  .map((list) => list.join(' '));

describe('lines', () => {
  test('no line is wider than its column, and no letter is lost or added', { tags: ['long'] }, () => {
    fc.assert(
      fc.property(words, fc.double({ min: 20, max: 500, noNaN: true }), fc.boolean(), (text, width, bold) => {
        const inlines: Inline[] = [{ text }, { text: ' and more', bold }];
        const lines = wrapLines(inlines, styles.body, width);
        for (const line of lines) {
          const ink = line.fragments.reduce((end, { x, width }) => Math.max(end, x + width), 0);
          expect(ink).toBeLessThanOrEqual(width + 0.1);
        }
        const set = lines.flatMap(({ fragments }) => fragments.map((fragment) => fragment.text)).join('');
        expect(set.replace(/ /g, '')).toBe(`${text} and more`.replace(/ /g, ''));
      }),
      { numRuns: 300 },
    );
  });

  test('words are never hyphenated', () => {
    const lines = wrapLines([{ text: 'responsibility '.repeat(30) }], styles.body, 120);
    for (const { fragments } of lines)
      expect(fragments.map(({ text }) => text).join('')).toMatch(/^(responsibility ?)+$/);
  });

  test('a no-break space holds its words together', () => {
    const lines = wrapLines([{ text: `${'word '.repeat(10)}1st,\u00a012:34` }], styles.body, 61);
    expect(lines.at(-1)!.fragments[0]!.text).toBe('1st, 12:34');
  });
});

describe('pages', () => {
  const piece = fc.record({
    height: fc.integer({ min: 1, max: 60 }),
    before: fc.integer({ min: 0, max: 20 }),
    tied: fc.boolean(),
    startsPage: fc.boolean(),
  });
  const made = fc
    .array(piece, { minLength: 1, maxLength: 80 })
    .map((list) => list.map((one): Piece => ({ ...one, paint: () => {} })));

  test('every piece is placed once, in order, inside the page', () => {
    fc.assert(
      fc.property(made, (pieces) => {
        const pages = paginate(pieces, 200);
        expect(pages.flatMap((page) => page.map((placed) => placed.piece))).toEqual(pieces);
        for (const page of pages) {
          expect(page.length).toBeGreaterThan(0);
          for (const { y, piece } of page) expect(y + piece.height).toBeLessThanOrEqual(200);
        }
      }),
    );
  });

  test('a tie that fits on one page is never cut', () => {
    fc.assert(
      fc.property(made, (pieces) => {
        const pageOf = new Map(
          paginate(pieces, 200).flatMap((page, index) => page.map(({ piece }) => [piece, index] as const)),
        );
        for (let start = 0; start < pieces.length; ) {
          let end = start;
          while (end < pieces.length - 1 && pieces[end]!.tied) end += 1;
          const run = pieces.slice(start, end + 1);
          const height = run.reduce((sum, one, index) => sum + one.height + (index > 0 ? one.before : 0), 0);
          if (height <= 200) expect(new Set(run.map((one) => pageOf.get(one))).size).toBe(1);
          start = end + 1;
        }
      }),
    );
  });
});

describe('the end of a letter', () => {
  const line = (): Piece => ({ height: 10, before: 0, tied: false, paint: () => {} });
  const heading = (): Piece => ({
    ...line(),
    tied: true,
    anchor: { title: 'Your reply', level: 2, name: 'h1', page: 0, isMasthead: false },
  });
  const sizes = (pieces: Piece[]) => {
    keepEndTogether(pieces, 200);
    return paginate(pieces, 200).map((page) => page.length);
  };
  const lines = (count: number) => Array.from({ length: count }, line);

  test('a short last section goes to the next page whole', () => {
    expect(sizes([...lines(17), heading(), ...lines(5)])).toEqual([17, 6]);
  });

  test('a long one takes five lines there at least', () => {
    expect(sizes([heading(), ...lines(20)])).toEqual([16, 5]);
    expect(sizes(lines(21))).toEqual([16, 5]);
    expect(sizes(lines(3))).toEqual([3]);
  });
});

describe('table columns', () => {
  test('add up to the width whatever the cells hold', { tags: ['long'] }, () => {
    fc.assert(
      fc.property(fc.array(fc.array(words, { minLength: 4, maxLength: 4 }), { maxLength: 6 }), (rows) => {
        const cells = rows.map((row) => row.map((text) => [{ text }]));
        const widths = columnWidths(
          {
            kind: 'table',
            align: ['left', 'right', 'left', 'left'],
            header: ['a', 'b', 'c', 'd'].map((text) => [{ text }]),
            rows: cells,
          },
          480,
        );
        expect(widths.reduce((sum, width) => sum + width, 0)).toBeCloseTo(480, 3);
        for (const width of widths) expect(width).toBeGreaterThan(0);
      }),
      { numRuns: 200 },
    );
  });
});
