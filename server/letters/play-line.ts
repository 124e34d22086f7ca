import { consequenceInWords, findingInWords } from '../duties/consequence.ts';
import { clockInWords, timecodeInWords } from '../football/clock-words.ts';
import { downInWords, kindInWords } from '../football/play-in-words.ts';
import { filmAddress } from '../games/film-address.ts';
import { playPage } from './answering.ts';
import type { LetterPlay } from './letter-data.ts';
import type { SeasonMark } from './season-source.ts';

/**
 * How a play is named in a letter: week, teams, quarter, clock, film timecode with its link, and its page.
 *
 * @param answerPage address of the page where officials answer: the play's is beside it
 */
export function playLine(mark: SeasonMark, answerPage: string): LetterPlay {
  const { quarter, clockSeconds } = mark.play;
  return {
    game: mark.game,
    week: mark.week,
    quarter: quarter === undefined || quarter === null ? '' : quarter > 4 ? 'OT' : String(quarter),
    clock: typeof clockSeconds === 'number' ? clockInWords(clockSeconds) : null,
    film: mark.filmSeconds === null ? null : timecodeInWords(mark.filmSeconds),
    filmUrl: filmAddress(mark.filmLink, mark.filmSeconds),
    finding: findingInWords(mark.finding, mark.consequence),
    consequence: mark.consequence && consequenceInWords[mark.consequence],
    comment: mark.comment.trim() || null,
    number: mark.playNumber,
    situation: `${downInWords(mark.play)}, ${kindInWords(mark.play)}`,
    pageUrl: playPage(answerPage, mark),
  };
}
