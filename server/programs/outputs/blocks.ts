import type { Block, ColumnAlign, Inline, LetterDocument } from '../../letters/document-tree.ts';
import type { Edition } from '../edition.ts';

// Pieces of the documents that go with an edition.

export const text = (words: string, dress: Omit<Inline, 'text'> = {}): Inline => ({ text: words, ...dress });
export const bold = (words: string): Inline => text(words, { bold: true });

/** A paragraph for each line that was typed. */
export const paragraphs = (words: string): Block[] =>
  words
    .split(/\n+/)
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .map((line) => paragraph(text(line)));

export const paragraph = (...inlines: Inline[]): Block => ({ kind: 'paragraph', inlines });
export const heading = (level: 1 | 2 | 3, words: string): Block => ({
  kind: 'heading',
  level,
  inlines: [text(words)],
});
export const list = (items: readonly string[], ordered = false): Block => ({
  kind: 'list',
  ordered,
  start: 1,
  items: items.map((item) => [paragraph(text(item))]),
});
export const table = (
  header: readonly string[],
  rows: readonly (readonly (string | number)[])[],
  align: ColumnAlign[] = header.map(() => 'left'),
): Block => ({
  kind: 'table',
  align,
  header: header.map((words) => [text(words)]),
  rows: rows.map((row) => row.map((cell) => [text(String(cell))])),
});

/** A document of an edition. Nothing about whose plays they are goes into it, nor into what it says of itself. */
export function editionDocument(
  { content, number, releasedAt }: Edition,
  what: string,
  under: string,
  blocks: readonly Block[],
): LetterDocument {
  return {
    title: `${what}: ${content.title}`,
    author: content.conference,
    subject: `${what} of a training program, edition ${number}`,
    language: 'en-US',
    footer: `${content.title} · ${what}, edition ${number}`,
    issuedAt: new Date(releasedAt),
    blocks: [
      {
        kind: 'masthead',
        over: [text(`${content.conference} · ${what}`)],
        title: [text(content.title)],
        under: [text(`Edition ${number} · ${under}`)],
      },
      paragraph(text(content.goal, { italic: true })),
      ...blocks,
    ],
  };
}

/** Plays by topic, in their order. */
export function byTopic<P extends { readonly topic: string }>(
  plays: readonly P[],
): { topic: string; plays: P[] }[] {
  const groups: { topic: string; plays: P[] }[] = [];
  for (const play of plays) {
    const last = groups.at(-1);
    if (last?.topic === play.topic) last.plays.push(play);
    else groups.push({ topic: play.topic, plays: [play] });
  }
  return groups;
}

export const topicTitle = (topic: string): string => topic || 'Further plays';
