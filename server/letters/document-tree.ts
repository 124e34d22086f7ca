import type { Chart } from './chart.ts';

/**
 * The document tree: what a letter says, in order, before anyone decides where it lands on a page.
 * Markdown becomes this tree (`markdown.ts`); `pdf/layout.ts` places it; `pdf/paint.ts` draws it.
 */
export interface Inline {
  text: string;
  bold?: boolean;
  italic?: boolean;
  /** An outside address: http, https or mailto. */
  href?: string;
  /** What the text stands for when the font has no glyphs for it; readers and copy get this instead. */
  actual?: string;
}

export type Block =
  | { kind: 'heading'; level: 1 | 2 | 3; inlines: Inline[] }
  | { kind: 'paragraph'; inlines: Inline[] }
  | { kind: 'list'; ordered: boolean; start: number; items: Block[][] }
  | { kind: 'table'; align: ColumnAlign[]; header: Inline[][]; rows: Inline[][][] }
  | { kind: 'quote'; blocks: Block[] }
  | { kind: 'figure'; chart: Chart; alt: string }
  | { kind: 'masthead'; over: Inline[]; title: Inline[]; under: Inline[] }
  | { kind: 'contents' }
  | { kind: 'rule' }
  | { kind: 'page-break' };

export type ColumnAlign = 'left' | 'center' | 'right';

export interface LetterDocument {
  title: string;
  author: string;
  subject: string;
  /** BCP 47 language tag, for screen readers. */
  language: string;
  /** Stands at the foot of every page beside the page number. */
  footer: string;
  /** Stands at the head of every page: that it is a draft. */
  mark?: string;
  /** Written as the PDF's creation date, so that the same inputs give the same bytes. */
  issuedAt: Date;
  blocks: Block[];
}

/** The words of inlines without their dress. */
export function plainText(inlines: readonly Inline[]): string {
  return inlines.map((inline) => inline.actual ?? inline.text).join('');
}
