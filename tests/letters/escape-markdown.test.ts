import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { escapeMarkdown, oneLine, safeAddress } from '../../server/letters/escape-markdown.ts';
import { markdownToBlocks } from '../../server/letters/markdown.ts';
import { compileTemplate } from '../../server/letters/template.ts';

const written = fc.oneof(
  fc.string({ unit: 'grapheme' }),
  fc.string({ unit: fc.constantFrom(...'#*_[]()<>`~|!-+.1 \n\\:/&;={}"\'@w'.split('')), maxLength: 40 }),
);

describe('a value in a letter is only text', () => {
  test('any comment alone prints as one paragraph of exactly its words', () => {
    fc.assert(
      fc.property(written, (comment) => {
        const blocks = markdownToBlocks(escapeMarkdown(comment), new Map());
        const text = oneLine(comment);
        expect(blocks).toHaveLength(text === '' ? 0 : 1);
        if (text === '') return;
        const block = blocks[0]!;
        if (block.kind !== 'paragraph') throw new Error(`became a ${block.kind}: ${comment}`);
        expect(block.inlines.map((inline) => inline.text).join('')).toBe(text);
        for (const { bold, italic, href } of block.inlines)
          expect([bold, italic, href]).toEqual([undefined, undefined, undefined]);
      }),
      { numRuns: 1000 },
    );
  });

  test('any comment in a table cell leaves the table’s shape alone', () => {
    const render = compileTemplate('| a | b |\n| --- | --- |\n| {{comment}} | x |\n');
    fc.assert(
      fc.property(written, (comment) => {
        const [table, ...others] = markdownToBlocks(render({ comment }), new Map());
        expect(others).toEqual([]);
        if (table?.kind !== 'table') throw new Error('no table');
        expect(table.rows).toHaveLength(1);
        expect(table.rows[0]!.map((cell) => cell.map(({ text }) => text).join(''))).toEqual([
          oneLine(comment),
          'x',
        ]);
      }),
      { numRuns: 1000 },
    );
  });

  test('a link helper keeps the label plain and the address http, https or mailto', {
    tags: ['long'],
  }, () => {
    const render = compileTemplate('{{link text url}}');
    fc.assert(
      fc.property(written, fc.oneof(fc.webUrl(), written), (text, url) => {
        const [block] = markdownToBlocks(render({ text, url }), new Map());
        if (!block) return;
        if (block.kind !== 'paragraph') throw new Error(`became a ${block.kind}`);
        expect(block.inlines.map((inline) => inline.text).join('')).toBe(oneLine(text));
        for (const { href } of block.inlines) if (href) expect(href).toMatch(/^(https?|mailto):/);
      }),
      { numRuns: 500 },
    );
  });

  test.each([
    'javascript:alert(1)',
    'file:///etc/passwd',
    'data:text/html,x',
    'ftp://x.example',
    'not a link',
  ])('%s is no address for a letter', (address) => expect(safeAddress(address)).toBeNull());
});

describe('a template can reach nothing but its data', () => {
  test.each(['{{> other}}', '{{#> layout}}x{{/layout}}', '{{#*inline "a"}}x{{/inline}}'])(
    '%s is refused',
    (source) => expect(() => compileTemplate(source)).toThrow(/can’t/),
  );

  test.each([
    '{{constructor.name}}',
    '{{__proto__}}',
    '{{official.constructor}}',
    '{{lookup this "constructor"}}',
  ])('%s reaches no prototype', (source) => {
    let out = '';
    try {
      out = compileTemplate(source)({ official: { name: 'x' } });
    } catch {
      return;
    }
    expect(out).toBe('');
  });

  test('triple braces print escaped as well', () => {
    expect(compileTemplate('{{{comment}}}')({ comment: '# hi' })).toBe('\\# hi');
    expect(compileTemplate('{{&comment}}')({ comment: '<b>' })).toBe('\\<b\\>');
  });
});
