import type { Block, LetterDocument } from '../../letters/document-tree.ts';
import { signalsIn } from '../../training/signals-in-text.ts';
import { capital } from '../../web/format.ts';
import type { Edition, EditionPlay } from '../edition.ts';
import { bold, byTopic, editionDocument, heading, list, paragraph, text, topicTitle } from './blocks.ts';
import { answerOf } from './question-document.ts';

/** What everybody takes home: key points by topic, the answers of record, signals in words. */
export function handoutDocument(edition: Edition): LetterDocument {
  const { content } = edition;
  return editionDocument(edition, 'Key points', `for ${content.audience}`, [
    ...byTopic(content.plays).flatMap(({ topic, plays }) => [
      heading(2, topicTitle(topic)),
      ...dutyOf(plays),
      ...plays.flatMap(pointsOf),
    ]),
    ...signalsOf(content.plays),
    paragraph(
      text('The current rules book and your officials’ manual prevail over anything here.', { italic: true }),
    ),
  ]);
}

/** What is expected, once for the plays of a topic that share it. */
function dutyOf(plays: readonly EditionPlay[]): Block[] {
  const duties = new Map(
    plays.flatMap(({ duty, position }) =>
      duty ? [[`${position} ${duty.title}`, { position, duty }] as const] : [],
    ),
  );
  return [...duties.values()].map(({ position, duty }) =>
    paragraph(
      bold(`${capital(position)}: `),
      text(`is expected to ${duty.expected}.${duty.guidance ? ` ${duty.guidance}` : ''} (${duty.source})`),
    ),
  );
}

function pointsOf(play: EditionPlay): Block[] {
  if (play.keys.length === 0 && play.answer === '') return [];
  return [
    heading(3, `Play ${play.number}: ${play.situation}`),
    ...(play.keys.length > 0 ? [list(play.keys)] : []),
    ...answerOf(play),
  ];
}

function signalsOf(plays: readonly EditionPlay[]): Block[] {
  const words = plays
    .flatMap(({ keys, answer, duty }) => [...keys, answer, duty?.expected ?? '', duty?.guidance ?? ''])
    .join('\n');
  const spoken = signalsIn(words);
  if (spoken.length === 0) return [];
  return [
    heading(2, 'Signals spoken of'),
    list(spoken.map(({ name, number }) => `${capital(name)}: signal ${number}`)),
    paragraph(text('By their usual numbers (common practice, no source).', { italic: true })),
  ];
}
