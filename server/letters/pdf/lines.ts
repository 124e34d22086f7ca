import type { Inline } from '../document-tree.ts';
import { type FaceName, faceOf } from './fonts.ts';
import { colors, type TextStyle } from './style.ts';

/** A run of one look on one line; x from the line's left edge, lengths in points. */
export interface Fragment {
  text: string;
  face: FaceName;
  size: number;
  color: string;
  href?: string;
  actual?: string;
  x: number;
  width: number;
}

export interface Line {
  fragments: Fragment[];
  width: number;
}

interface Segment {
  text: string;
  face: FaceName;
  color: string;
  href: string | undefined;
  actual: string | undefined;
  width: number;
}

/** What may not be broken inside: ends after a space, after a hyphen, dash or slash between letters, or at a line's end. */
interface Word {
  segments: Segment[];
  /** Width with the space after it. */
  width: number;
  /** Width as printed at a line's end. */
  ink: number;
  endsLine: boolean;
}

/** Sums of widths differ in their last digits; points. */
const tolerance = 0.01;

/** Cuts text after each space and line end, and after a hyphen, dash or slash between letters. */
function cut(text: string): string[] {
  const parts = text.replaceAll('\t', ' ').match(/[^ \n]+ ?| |\n/g) ?? [];
  return parts.flatMap((part) =>
    /[/\u2010–—-]/.test(part) ? part.split(/(?<=\p{L}[/\u2010–—-])(?=\p{L})/u) : [part],
  );
}

/**
 * Breaks inlines into lines no wider than `width`, at spaces and hyphens, never by hyphenation. A word wider
 * than the line alone is broken between its characters.
 */
export function wrapLines(inlines: readonly Inline[], style: TextStyle, width: number): Line[] {
  const lines: Line[] = [];
  let segments: Segment[] = [];
  let used = 0;
  const endLine = () => {
    lines.push(lineOf(segments, style.size));
    segments = [];
    used = 0;
  };
  for (const word of wordsOf(inlines, style)) {
    if (used > 0 && used + word.ink > width + tolerance) endLine();
    if (word.ink > width + tolerance && used === 0) {
      for (const piece of breakAnywhere(word, style.size, width)) {
        if (used > 0 && used + piece.width > width) endLine();
        segments.push(piece);
        used += piece.width;
      }
    } else {
      segments.push(...word.segments);
      used += word.width;
    }
    if (word.endsLine) endLine();
  }
  if (segments.length > 0) endLine();
  return lines;
}

/** The widest word and the width on a single line: the bounds between which a table column is set. */
export function naturalWidths(inlines: readonly Inline[], style: TextStyle): { least: number; most: number } {
  let least = 0;
  let most = 0;
  let line = 0;
  for (const word of wordsOf(inlines, style)) {
    least = Math.max(least, word.ink);
    most = Math.max(most, line + word.ink);
    line = word.endsLine ? 0 : line + word.width;
  }
  return { least, most };
}

function wordsOf(inlines: readonly Inline[], style: TextStyle): Word[] {
  const words: Word[] = [];
  let open: Word | null = null;
  const close = (endsLine: boolean) => {
    if (!open && endsLine) open = { segments: [], width: 0, ink: 0, endsLine };
    if (!open) return;
    open.endsLine = endsLine;
    words.push(open);
    open = null;
  };
  for (const inline of inlines) {
    const face = faceFor(inline, style.face);
    const color = inline.href ? colors.link : style.color;
    const parts = cut(inline.text);
    for (const [index, part] of parts.entries()) {
      if (part === '\n') {
        const last = (open as Word | null)?.segments.at(-1) ?? words.at(-1)?.segments.at(-1);
        if (last && !last.text.endsWith(' ')) last.text += ' ';
        close(true);
        continue;
      }
      const text = part.replaceAll('\u00a0', ' ');
      const width = widthOf(text, face, style.size);
      const next = parts[index + 1];
      const breaks = part.endsWith(' ') || (next !== undefined && next !== '\n');
      const space = part.endsWith(' ') ? widthOf(' ', face, style.size) : 0;
      open ??= { segments: [], width: 0, ink: 0, endsLine: false };
      open.ink = open.width + width - space;
      open.width += width;
      open.segments.push({ text, face, color, href: inline.href, actual: inline.actual, width });
      if (breaks) close(false);
    }
  }
  close(false);
  return words;
}

function faceFor(inline: Inline, base: FaceName): FaceName {
  if (inline.bold) return base === 'bold' ? 'bold' : 'semibold';
  if (inline.italic) return 'italic';
  return base;
}

export function widthOf(text: string, face: FaceName, size: number): number {
  const measure = faceOf(face).measure;
  let width = 0;
  // The same cut as pdfkit's, after each space, so that both remember the same words.
  for (const part of text.split(/(?<= )/)) width += measure(part);
  return (width * size) / 1000;
}

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });

function breakAnywhere(word: Word, size: number, width: number): Segment[] {
  const pieces: Segment[] = [];
  for (const segment of word.segments) {
    if (segment.actual !== undefined && segment.width <= width) {
      pieces.push(segment);
      continue;
    }
    let text = '';
    for (const { segment: character } of graphemes.segment(segment.text)) {
      if (text && widthOf(text + character, segment.face, size) > width) {
        pieces.push({ ...segment, text, width: widthOf(text, segment.face, size) });
        text = '';
      }
      text += character;
    }
    if (text) pieces.push({ ...segment, text, width: widthOf(text, segment.face, size) });
  }
  return pieces;
}

function lineOf(segments: readonly Segment[], size: number): Line {
  const fragments: Fragment[] = [];
  let x = 0;
  segments.forEach((segment, index) => {
    // The space at a line's end is drawn, so that readers of the text don't join the words; it has no width.
    const { text } = segment;
    const atEnd = index === segments.length - 1 && text.endsWith(' ');
    const width = atEnd ? widthOf(text.trimEnd(), segment.face, size) : segment.width;
    const before = fragments.at(-1);
    if (
      before &&
      before.face === segment.face &&
      before.color === segment.color &&
      before.href === segment.href &&
      before.actual === undefined &&
      segment.actual === undefined
    ) {
      before.text += text;
      before.width += width;
    } else {
      const { face, color, href, actual } = segment;
      fragments.push({
        text,
        face,
        size,
        color,
        x,
        width,
        ...(href !== undefined && { href }),
        ...(actual !== undefined && { actual }),
      });
    }
    x += width;
  });
  return { fragments: fragments.filter(({ text }) => text.length > 0), width: x };
}
