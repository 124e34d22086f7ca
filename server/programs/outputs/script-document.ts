import type { Block, LetterDocument } from '../../letters/document-tree.ts';
import { wordsPerMinute } from '../../training/reading-time.ts';
import { questionSeconds } from '../../training/running-time.ts';
import { clock } from '../../web/format.ts';
import type { Edition } from '../edition.ts';
import type { EditionPlaces } from '../edition-places.ts';
import {
  bold,
  byTopic,
  editionDocument,
  heading,
  list,
  paragraph,
  paragraphs,
  text,
  topicTitle,
} from './blocks.ts';
import { type TimedPlay, timeline } from './timeline.ts';

/** What is said over each play, and whether it fits. */
export function scriptDocument(edition: Edition, places: EditionPlaces): LetterDocument {
  const plays = timeline(edition, places);
  const over = plays.filter(({ reading }) => reading.over > 0);
  const silent = plays.filter(({ narration }) => narration === '');
  return editionDocument(edition, 'Script', `${plays.length} plays`, [
    paragraph(
      text(
        `Read aloud at ${wordsPerMinute} words a minute (the mean of 77 studies; Brysbaert 2019). Each play tells how long its text takes beside how long its clip runs.`,
      ),
    ),
    ...(over.length > 0
      ? [
          paragraph(
            bold('Longer than its clip: '),
            text(over.map((play) => `play ${play.number} by ${play.reading.over} seconds`).join(', ')),
          ),
        ]
      : []),
    ...(silent.length > 0
      ? [paragraph(bold('Without a text: '), text(`play ${silent.map((play) => play.number).join(', ')}`))]
      : []),
    ...byTopic(plays).flatMap(({ topic, plays: own }) => [
      heading(2, topicTitle(topic)),
      ...own.flatMap(scriptOfPlay),
    ]),
  ]);
}

const voiceWords = { recorded: 'Recorded.', spoken: 'Spoken by a machine.', none: '' };

function scriptOfPlay(play: TimedPlay): Block[] {
  const { reading } = play;
  return [
    heading(3, `${play.number}. ${play.situation}`),
    paragraph(
      text(
        `At ${clock(play.startsAt)}. Clip ${play.clip} seconds, text ${reading.readingSeconds} seconds (${reading.words} words)${reading.over > 0 ? `: ${reading.over} seconds too long, ${reading.wordsTooMany} words too many` : ''}. ${play.hasFilm ? '' : 'No film so far. '}${voiceWords[play.voice]}`.trim(),
        { italic: true },
      ),
    ),
    ...paragraphs(play.narration),
    ...(play.question === ''
      ? []
      : [
          paragraph(bold('Stop and ask: '), text(`${play.question} (${questionSeconds} seconds)`)),
          list(
            play.choices.map((choice) => `${choice.text}${choice.right ? ' (right)' : ''}`),
            true,
          ),
        ]),
    ...(play.answer === '' ? [] : [paragraph(bold('Answer: '), text(play.answer))]),
  ];
}
