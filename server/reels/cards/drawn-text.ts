import { faceOf } from '../../letters/pdf/fonts.ts';

export type Weight = 'regular' | 'semibold' | 'bold';

/** What a text is wide at a size, in pixels. */
export const widthOf = (text: string, size: number, weight: Weight): number =>
  (faceOf(weight).measure(text) * size) / 1000;

/** A text in lines that are not wider; a word that is wider itself is broken. */
export function linesOf(text: string, width: number, size: number, weight: Weight): string[] {
  const fits = (line: string) => widthOf(line, size, weight) <= width;
  const lines: string[] = [];
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const last = lines.at(-1);
    if (last !== undefined && fits(`${last} ${word}`)) {
      lines[lines.length - 1] = `${last} ${word}`;
      continue;
    }
    let rest = word;
    while (!fits(rest) && rest.length > 1) {
      let length = rest.length - 1;
      while (length > 1 && !fits(rest.slice(0, length))) length -= 1;
      lines.push(rest.slice(0, length));
      rest = rest.slice(length);
    }
    lines.push(rest);
  }
  return lines;
}

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

const weights: Record<Weight, number> = { regular: 400, semibold: 600, bold: 700 };

export const textElement = (
  text: string,
  { x, y, size, weight, fill }: { x: number; y: number; size: number; weight: Weight; fill: string },
  more = '',
): string =>
  `<text x="${x}" y="${y}" font-size="${size}" font-weight="${weights[weight]}" fill="${fill}"${more}>${escaped(text)}</text>`;
