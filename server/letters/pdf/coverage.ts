import { relabelled } from '../chart.ts';
import type { Block, Inline } from '../document-tree.ts';
import { faceOf } from './fonts.ts';

/** What stands for a character the font can't draw: the white square, U+25A1. */
export const standIn = '□';

const scripts = [
  'Han',
  'Hiragana',
  'Katakana',
  'Hangul',
  'Hebrew',
  'Arabic',
  'Devanagari',
  'Bengali',
  'Tamil',
  'Telugu',
  'Thai',
  'Georgian',
  'Armenian',
  'Ethiopic',
  'Khmer',
  'Lao',
  'Myanmar',
  'Sinhala',
  'Cherokee',
].map((name) => ({ name, pattern: new RegExp(`\\p{Script=${name}}`, 'u') }));

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });

/**
 * Replaces what the font can't draw by □, one for each character, keeping the original as the text that
 * screen readers and copying get, and gathers the scripts met.
 */
export class Coverage {
  readonly scripts = new Set<string>();
  /** The distinct texts that couldn't be printed, as written. */
  readonly texts = new Set<string>();

  blocks(blocks: readonly Block[]): Block[] {
    return blocks.map((block) => this.block(block));
  }

  private block(block: Block): Block {
    switch (block.kind) {
      case 'heading':
      case 'paragraph':
        return { ...block, inlines: this.inlines(block.inlines) };
      case 'list':
        return { ...block, items: block.items.map((item) => this.blocks(item)) };
      case 'table':
        return {
          ...block,
          header: block.header.map((cell) => this.inlines(cell)),
          rows: block.rows.map((row) => row.map((cell) => this.inlines(cell))),
        };
      case 'quote':
        return { ...block, blocks: this.blocks(block.blocks) };
      case 'masthead':
        return {
          ...block,
          over: this.inlines(block.over),
          title: this.inlines(block.title),
          under: this.inlines(block.under),
        };
      case 'figure':
        return { ...block, chart: relabelled(block.chart, (label) => this.text(label)) };
      default:
        return block;
    }
  }

  inlines(inlines: readonly Inline[]): Inline[] {
    return inlines.flatMap((inline) => (isCovered(inline.text) ? [inline] : this.split(inline)));
  }

  /** Text for places without structure, such as the footer. */
  text(text: string): string {
    return this.inlines([{ text }])
      .map((inline) => inline.text)
      .join('');
  }

  private split(inline: Inline): Inline[] {
    const parts: Inline[] = [];
    for (const { segment } of graphemes.segment(inline.text)) {
      const covered = isCovered(segment);
      const last = parts.at(-1);
      if (covered) {
        if (last && last.actual === undefined) last.text += segment;
        else parts.push({ ...inline, text: segment });
        continue;
      }
      const script = scripts.find(({ pattern }) => pattern.test(segment));
      this.scripts.add(
        script?.name ?? (/\p{Extended_Pictographic}/u.test(segment) ? 'emoji' : 'other symbols'),
      );
      if (last?.actual !== undefined) {
        last.text += standIn;
        last.actual += segment;
      } else parts.push({ ...inline, text: standIn, actual: segment });
    }
    for (const { actual } of parts) if (actual !== undefined) this.texts.add(actual);
    return parts;
  }
}

function isCovered(text: string): boolean {
  // Nearly all text is plain ASCII, which every face has.
  if (/^[\n\x20-\x7e]*$/.test(text)) return true;
  const face = faceOf('regular');
  for (const character of text) {
    if (character !== '\n' && !face.has(character.codePointAt(0)!)) return false;
  }
  return true;
}
