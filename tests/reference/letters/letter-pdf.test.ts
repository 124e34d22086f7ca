// @module-tag long
// Letters read back by programs that know nothing of ours: poppler's pdftotext, pdffonts, pdfinfo and
// qpdf --check. The texts in __snapshots__ are committed, so that a changed letter is seen in review.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { LetterData } from '../../../server/letters/letter-data.ts';
import { renderLetter } from '../../../server/letters/render-letter.ts';
import { emptyLetter, exampleLetter } from '../../letters/letter-example.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'letters-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const template = (kind: LetterData['kind']) =>
  readFileSync(new URL(`../../../templates/letters/${kind}.md.hbs`, import.meta.url), 'utf8');

const run = (program: string, ...parameters: string[]) =>
  execFileSync(program, parameters, { encoding: 'utf8' });

async function written(data: LetterData, paper: 'Letter' | 'A4' = 'Letter', text = template(data.kind)) {
  const rendered = await renderLetter(data, text, { paper });
  const path = join(folder, `${Math.random().toString(36).slice(2)}.pdf`);
  writeFileSync(path, rendered.pdf);
  return { ...rendered, path, text: run('pdftotext', '-layout', path, '-') };
}

describe('a letter', () => {
  test('is a sound PDF with every font embedded, tagged, titled, in its language', async () => {
    const { path } = await written(exampleLetter());
    expect(run('qpdf', '--check', path)).toContain('No syntax or stream encoding errors found');
    const fonts = run('pdffonts', path).trim().split('\n').slice(2);
    expect(fonts.length).toBeGreaterThan(1);
    for (const font of fonts) expect(font).toMatch(/SourceSans3.* yes yes yes /);
    const info = run('pdfinfo', path);
    expect(info).toMatch(/Title: +End-of-season evaluation: Dorothea Quillfeather, 2026/);
    expect(info).toMatch(/Tagged: +yes/);
    expect(info).toMatch(/Page size: +612 x 792 pts \(letter\)/);
    expect(info).toMatch(/JavaScript: +no/);
    const raw = run('qpdf', '--qdf', '--object-streams=disable', path, '-');
    expect(raw).toContain('/Lang (en-US)');
  });

  test('comes on A4 as well', async () => {
    const { path } = await written(exampleLetter(), 'A4');
    expect(run('pdfinfo', path)).toMatch(/Page size: +595.28 x 841.89 pts \(A4\)/);
  });

  test('has headings, lists, tables and figures with alternative text in its structure', async () => {
    const { path } = await written(exampleLetter());
    const structure = run('pdfinfo', '-struct-text', path);
    for (const tag of ['Document', 'H1', 'H2', 'H3', 'P', 'Table', 'TR', 'TH', 'TD', 'Figure', 'Link'])
      expect(structure, tag).toMatch(new RegExp(`^ *${tag} ?(\\(|"|:|$)`, 'm'));
    expect(structure).toContain('that our rubric gave you: you met 1320 and missed 92.');
    const raw = run('qpdf', '--qdf', '--object-streams=disable', path, '-');
    expect(raw).toContain('/Alt (Grade 92.04 on a scale of 0 to 100, 90% interval 89.71 to 94.40.');
    expect(raw).toContain('/Alt (Missed by game: Week 1 2 of 3,');
  });

  test('the same inputs give the same bytes', async () => {
    const [first, second] = [await written(exampleLetter()), await written(exampleLetter())];
    expect(first.pdf.equals(second.pdf)).toBe(true);
  });

  test.each(['mid-season', 'end-of-season'] as const)('%s: its text is as committed', async (kind) => {
    const { text } = await written(exampleLetter({ kind }));
    await expect(text).toMatchFileSnapshot(`__snapshots__/${kind}.txt`);
  });

  test('without any data says so', async () => {
    const { text } = await written(emptyLetter());
    await expect(text).toMatchFileSnapshot('__snapshots__/no-data.txt');
  });
});

describe('what is awkward', () => {
  test('letters that are parts of other letters are read back: the dotless i after an i', async () => {
    await written(exampleLetter());
    const { text } = await written(
      exampleLetter({ official: { name: 'Işıl Çınarbey', position: 'umpire', crew: 'ȷ Straße Đorđević' } }),
    );
    expect(text).toContain('Dear Işıl Çınarbey,');
    expect(text).toContain('Straße Đorđević');
  });

  const long = 'Bartholomew-Maximilian Featherstonehaugh-Cholmondeley van Hout';
  /** Right edges of all words on all pages, in points, as poppler sees them. */
  const rightmost = (path: string) =>
    Math.max(
      ...[...run('pdftotext', '-bbox', path, '-').matchAll(/xMax="([\d.]+)"/g)].map((match) =>
        Number(match[1]),
      ),
    );

  test('names of 60 characters wrap and stay inside the margins', async () => {
    expect(long.length).toBeGreaterThan(59);
    const { path, text } = await written(
      exampleLetter({
        official: { name: long, position: 'head linesman', crew: long.replaceAll(/[ -]/g, 'x') },
      }),
    );
    expect(text).toContain('Dear Bartholomew-Maximilian Featherstonehaugh-Cholmondeley van Hout,');
    expect(rightmost(path)).toBeLessThanOrEqual(612 - 64 + 0.5);
  });

  test('200 development points: every heading has text below it on its page, every page is numbered', {
    tags: ['long'],
  }, async () => {
    const [point] = exampleLetter().toWorkOn;
    const toWorkOn = Array.from({ length: 200 }, (_, index) => ({
      ...point!,
      duty: `Duty number ${index + 1}`,
    }));
    const { path, pages, pdf } = await written(exampleLetter({ toWorkOn }));
    expect(pages).toBeGreaterThan(50);
    expect(run('qpdf', '--check', path)).toContain('No syntax or stream encoding errors found');
    const texts = run('pdftotext', '-layout', path, '-').split('\f').slice(0, -1);
    expect(texts).toHaveLength(pages);
    texts.forEach((text, index) => {
      const lines = text.split('\n').filter((line) => line.trim());
      expect(lines.at(-1)).toContain(`Page ${index + 1} of ${pages}`);
      expect(lines.at(-2), `page ${index + 1}`).not.toMatch(/Duty number|What to work on|What was seen/);
    });
    for (const number of [1, 57, 200]) expect(texts.join('')).toContain(`${number}. Duty number ${number}`);
    // 1,200 rows with two links each.
    expect(pdf.length).toBeLessThan(5_000_000);
  });

  test('scripts that the font lacks are said to be missing, and the words stay in the PDF', async () => {
    const { unsupported, text, path, pages } = await written(
      exampleLetter({
        official: { name: '山田 太郎 שרה', position: 'line judge', crew: 'Παπαδόπουλος Дьяченко Łódź' },
      }),
    );
    expect(unsupported.scripts).toEqual(['Han', 'Hebrew']);
    expect(unsupported.texts).toContain('山田');
    expect(text.replace(/\s+/g, ' ')).toContain(
      'covers the Latin, Greek and Cyrillic scripts, not Han and Hebrew',
    );
    expect(text).toContain('Παπαδόπουλος Дьяченко Łódź');
    // Text for copying and screen readers is the name itself (ActualText), not the squares.
    expect(run('pdftotext', '-raw', path, '-')).toMatch(/Dear\s+山田\s+太郎/);
    expect(run('qpdf', '--qdf', '--object-streams=disable', path, '-')).toContain(
      '/ActualText <feff5c717530>',
    );
    expect(rightmost(path)).toBeLessThanOrEqual(612 - 64 + 0.5);
    expect(pages).toBe((await written(exampleLetter())).pages);
  });

  test('a comment of 6,000 characters is printed whole over pages', async () => {
    const example = exampleLetter();
    const comment = Array.from({ length: 1000 }, (_, index) => `w${index}`).join(' ');
    const [point] = example.toWorkOn;
    const { text } = await written(
      exampleLetter({ toWorkOn: [{ ...point!, plays: [{ ...point!.plays[0]!, comment }] }] }),
    );
    for (const word of ['w0', 'w500', 'w999']) expect(text).toMatch(new RegExp(`\\b${word}\\b`));
  });

  test('markup in a comment prints as it was typed', async () => {
    const comment =
      '# Not a heading [no link](http://bad.example) <b>x</b> ![](chart:grade) {{official.name}} | a';
    const example = exampleLetter();
    const [point] = example.toWorkOn;
    const { path } = await written(
      exampleLetter({ toWorkOn: [{ ...point!, plays: [{ ...point!.plays[0]!, comment }] }] }),
    );
    const text = run('pdftotext', path, '-').replace(/\s+/g, ' ');
    expect(text).toContain(comment);
    expect(run('qpdf', '--qdf', '--object-streams=disable', path, '-')).not.toContain(
      '/URI (http://bad.example',
    );
  });
});
