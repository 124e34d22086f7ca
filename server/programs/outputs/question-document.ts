import type { Block, LetterDocument } from '../../letters/document-tree.ts';
import { dayInWords } from '../../text/days.ts';
import type { Edition, EditionPlay } from '../edition.ts';
import { bold, editionDocument, heading, list, paragraph, text } from './blocks.ts';

const letter = (at: number) => String.fromCharCode(65 + at);

/** The questions on paper, each before its answer is told. @param withAnswers for whoever leads the session */
export function questionDocument(edition: Edition, withAnswers: boolean): LetterDocument {
  const asked = edition.content.plays.filter(({ question }) => question !== '');
  const without = edition.content.plays.filter(({ question }) => question === '');
  return editionDocument(
    edition,
    withAnswers ? 'Questions with answers' : 'Questions',
    asked.length === 1 ? 'one question' : `${asked.length} questions`,
    [
      ...(withAnswers
        ? []
        : [paragraph(text('Look at the play, then mark what is right. More than one may be.'))]),
      ...asked.flatMap((play, at) => questionOf(play, at + 1, withAnswers)),
      ...(without.length > 0
        ? [
            paragraph(
              text(`Without a question: play ${without.map((play) => play.number).join(', ')}.`, {
                italic: true,
              }),
            ),
          ]
        : []),
    ],
  );
}

function questionOf(play: EditionPlay, number: number, withAnswers: boolean): Block[] {
  return [
    heading(3, `${number}. Play ${play.number}: ${play.situation}`),
    paragraph(bold(play.question)),
    list(
      play.choices.map(
        (choice, at) =>
          `${withAnswers ? '' : '☐ '}${letter(at)}  ${choice.text}${withAnswers && choice.right ? ' (right)' : ''}`,
      ),
    ),
    ...(withAnswers
      ? [
          paragraph(
            bold('Right: '),
            text(play.choices.flatMap((choice, at) => (choice.right ? [letter(at)] : [])).join(' and ')),
          ),
          ...answerOf(play),
        ]
      : []),
  ];
}

/** The answer of record with its day and what it rests on. */
export function answerOf(play: EditionPlay): Block[] {
  if (play.answer === '') return [];
  const rests = [
    play.ruleCited,
    play.mechanicCited,
    play.answeredOn === null ? '' : `as of ${dayInWords(play.answeredOn)}`,
  ].filter((part) => part !== '');
  return [
    paragraph(bold('Answer of record: '), text(play.answer)),
    ...(rests.length > 0 ? [paragraph(text(`${rests.join('; ')}.`, { italic: true }))] : []),
    ...(play.twoMechanics ? [paragraph(text('Two ways of doing it are acceptable.'))] : []),
  ];
}
