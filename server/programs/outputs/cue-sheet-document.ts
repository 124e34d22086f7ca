import type { LetterDocument } from '../../letters/document-tree.ts';
import { clock } from '../../web/format.ts';
import type { Edition } from '../edition.ts';
import type { EditionPlaces } from '../edition-places.ts';
import { editionDocument, list, paragraph, table, text } from './blocks.ts';
import { timeline, totalSeconds } from './timeline.ts';

/** The cue sheet to print. @param withSources also where each play is from, for whoever cuts the film */
export function cueSheetDocument(
  edition: Edition,
  places: EditionPlaces,
  withSources: boolean,
): LetterDocument {
  const { content, sources } = edition;
  const plays = timeline(edition, places);
  const lacking = plays.filter(({ hasFilm }) => !hasFilm);
  const total = totalSeconds(edition, places);
  return editionDocument(edition, 'Cue sheet', `${plays.length} plays, ${clock(total)}`, [
    table(
      ['Play', 'Starts', 'Situation', 'Topic', 'Shown', 'Before', 'After', 'Question', 'Film', 'Voice'],
      plays.map((play) => [
        play.number,
        clock(play.startsAt),
        play.situation,
        play.topic,
        play.showing,
        `${play.secondsBefore} s`,
        `${play.secondsAfter} s`,
        play.question === '' ? 'no' : 'yes',
        play.hasFilm ? 'there' : 'lacking',
        play.voice,
      ]),
      ['right', 'right', 'left', 'left', 'left', 'right', 'right', 'left', 'left', 'left'],
    ),
    paragraph(
      text(
        `Before and after the snap. ${
          places.made
            ? `Times are those of the reel as it was made: ${clock(total)} of ${clock(content.minutes * 60)} planned, its cards included; its stops for questions come on top.`
            : `Times are as planned: ${clock(total)} of ${clock(content.minutes * 60)}, a stop for each question included. Once a reel was made of this edition they are the reel’s.`
        }`,
      ),
    ),
    ...(lacking.length === 0
      ? []
      : [
          paragraph(text('Without film so far:', { bold: true })),
          list(lacking.map((play) => `Play ${play.number}: ${play.situation}`)),
        ]),
    ...(withSources
      ? [
          { kind: 'page-break' } as const,
          paragraph(
            text('For whoever cuts the film only: this page tells whose plays they are.', { bold: true }),
          ),
          table(
            ['Play', 'Week', 'Game', 'Play of it', 'Film from', 'to'],
            plays.map((play, at) => {
              const source = sources[at]!;
              const { filmSeconds } = source;
              return [
                play.number,
                source.week,
                source.game,
                source.playNumber,
                filmSeconds === null ? 'lacking' : clock(Math.max(0, filmSeconds - play.secondsBefore)),
                filmSeconds === null ? '' : clock(filmSeconds + play.secondsAfter),
              ];
            }),
            ['right', 'right', 'left', 'right', 'right', 'right'],
          ),
        ]
      : []),
  ]);
}
