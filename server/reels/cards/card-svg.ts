import type { ReelCard } from '../plan/reel-plan.ts';
import { pictureSize } from '../rendering/constants.ts';
import { linesOf, textElement, type Weight } from './drawn-text.ts';

const { width, height } = pictureSize;
const margin = 96;
const ground = '#13283b';
const inks = { plain: '#ffffff', soft: '#b9c8d6', point: '#ffffff', choice: '#ffffff' } as const;
const accents: Record<ReelCard['kind'], string> = {
  ...{ title: '#f2b632', topic: '#f2b632', question: '#6cc5f0', answer: '#7ed491' },
  ...{ 'no film': '#f08c6c', 'topic end': '#f2b632', closing: '#b9c8d6' },
};

interface Row {
  readonly text: string;
  readonly size: number;
  readonly weight: Weight;
  readonly fill: string;
  readonly indent: number;
  /** Space above it. */
  readonly before: number;
  /** A point begins with it. */
  readonly dot: boolean;
}

/** Sizes that are tried, the largest first, until the text fits. */
const scales = [1, 0.9, 0.8, 0.7, 0.6, 0.52];

/** A card as a picture. What is longer than fits at the smallest size ends with an ellipsis. */
export function cardSvg(card: ReelCard): string {
  const room = height - 2 * margin - (card.foot === '' ? 0 : 40);
  let rows: Row[] = [];
  for (const scale of scales) {
    rows = rowsOf(card, scale);
    if (heightOf(rows) <= room) break;
  }
  rows = cutTo(rows, room);
  let y = margin + Math.max(0, (room - heightOf(rows)) / 2);
  const drawn = rows.map((row) => {
    y += row.before + row.size * 1.25;
    const { size, weight, fill } = row;
    const x = margin + row.indent;
    const dot = row.dot
      ? `<circle cx="${margin + size * 0.3}" cy="${(y - size * 0.33).toFixed(1)}" r="${(size * 0.15).toFixed(1)}" fill="${accents[card.kind]}"/>`
      : '';
    return dot + textElement(row.text, { x, y: Number(y.toFixed(1)), size, weight, fill });
  });
  const foot = linesOf(card.foot, width - 2 * margin, 24, 'regular')
    .slice(0, 1)
    .map((text) =>
      textElement(text, { x: margin, y: height - 48, size: 24, weight: 'regular', fill: inks.soft }),
    );
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" font-family="Source Sans 3">`,
    `<rect width="${width}" height="${height}" fill="${ground}"/>`,
    `<rect width="16" height="${height}" fill="${accents[card.kind]}"/>`,
    ...drawn,
    ...foot,
    '</svg>',
  ].join('\n');
}

function rowsOf(card: ReelCard, scale: number): Row[] {
  const wide = width - 2 * margin;
  const of = (
    text: string,
    size: number,
    weight: Weight,
    fill: string,
    { before = 0, indent = 0, dot = false } = {},
  ): Row[] => {
    const own = Math.round(size * scale);
    return linesOf(text, wide - indent, own, weight).map((line, at) => ({
      ...{ text: line, size: own, weight, fill, indent },
      before: at === 0 ? before * scale : 0,
      dot: dot && at === 0,
    }));
  };
  const headingSize = card.kind === 'title' || card.kind === 'topic' ? 64 : 44;
  return [
    ...of(card.above, 28, 'semibold', accents[card.kind]),
    ...of(card.heading, headingSize, 'bold', '#ffffff', { before: 8 }),
    ...card.lines.flatMap(({ text, tone }) =>
      of(text, tone === 'soft' ? 28 : 34, 'regular', inks[tone], {
        before: tone === 'soft' ? 14 : 20,
        indent: tone === 'point' ? 36 : 0,
        dot: tone === 'point',
      }),
    ),
  ];
}

const heightOf = (rows: readonly Row[]) =>
  rows.reduce((sum, { before, size }) => sum + before + size * 1.25, 0);

function cutTo(rows: readonly Row[], room: number): Row[] {
  const kept: Row[] = [];
  let used = 0;
  for (const row of rows) {
    used += row.before + row.size * 1.25;
    if (used > room) {
      const last = kept.at(-1);
      return last ? [...kept.slice(0, -1), { ...last, text: `${last.text.replace(/.{2}$/, '')} …` }] : kept;
    }
    kept.push(row);
  }
  return kept;
}
