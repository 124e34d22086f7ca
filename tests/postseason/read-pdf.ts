import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { expect } from 'vitest';
import type { SignedInAgent } from '../support/signed-in.ts';

export const spaced = (text: string) => text.replaceAll(/\s+/g, ' ');

/** A PDF as poppler reads it back, held against what qpdf, pdffonts and pdfinfo say of it. */
export async function pdfAt(agent: SignedInAgent, address: string) {
  const { body, headers } = await agent.get(address).responseType('blob').expect(200);
  expect(headers['content-type']).toBe('application/pdf');
  const folder = mkdtempSync(path.join(tmpdir(), 'record-'));
  const file = path.join(folder, 'record.pdf');
  writeFileSync(file, body);
  const run = (command: string, ...args: string[]) => execFileSync(command, args).toString();
  run('qpdf', '--check', file);
  const fonts = run('pdffonts', file).trim().split('\n').slice(2);
  expect(fonts.length).toBeGreaterThan(1);
  // The columns of pdffonts end with: emb sub uni object ID; the text can be read by its Unicode map.
  for (const font of fonts) expect(font).toMatch(/ yes yes yes +\d+ +\d+$/);
  const info = run('pdfinfo', file);
  expect(info).toMatch(/Tagged: +yes/);
  const pages = run('pdftotext', '-layout', file, '-').split('\f').slice(0, -1);
  expect(pages).toHaveLength(Number(/Pages: +(\d+)/.exec(info)![1]));
  /** In reading order, also of text whose lines are wrapped in columns. */
  const words = spaced(run('pdftotext', file, '-'));
  rmSync(folder, { recursive: true });
  return { bytes: body as Buffer, headers, pages: pages.map(spaced), words };
}
