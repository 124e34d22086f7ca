import { effectOf } from '../../duties/finding.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { OwnMark } from '../review/mark-lines.ts';
import { markView } from './mark-view.ts';

type OwnMarkHere = OwnMark & { mayReply: boolean };

/** Which marks an official looks at; the words are those of the filter. */
const choices = [
  { show: 'all', words: 'All', takes: () => true },
  {
    show: 'not met',
    words: 'Missed or wrong',
    takes: ({ finding, removed }: OwnMarkHere) => !removed && effectOf(finding) === 'not met',
  },
  {
    show: 'worth showing',
    words: 'Worth showing',
    takes: ({ finding, removed }: OwnMarkHere) => !removed && finding === 'model',
  },
  { show: 'to answer', words: 'To answer', takes: ({ mayReply }: OwnMarkHere) => mayReply },
];

/** So many marks may stand open at once: what a hand scrolls through on a telephone. */
const mostOpen = 20;

/**
 * An official's marks game by game, newest first, each game a fold: those asked for, else the newest ones, are open.
 * `asked` is the address's query; what it does not know counts as not asked.
 */
export function ownMarksView(marks: readonly OwnMarkHere[], asked: { show?: string; report?: string }) {
  const chosen = choices.find(({ show }) => show === asked.show) ?? choices[0]!;
  // Two observers of one game are two reports, each with its own time to answer.
  const reports = groupBy(marks.filter(chosen.takes), ({ reportId }) => reportId);
  const observers = new Map<string, number>();
  let before = 0;
  const games = [...reports.values()].map((of) => {
    const { reportId, gameId, game, week, replyUntil, timeZone } = of[0]!;
    const observer = (observers.get(gameId) ?? 0) + 1;
    observers.set(gameId, observer);
    const newest = before === 0 || before + of.length <= mostOpen;
    before += of.length;
    return {
      reportId,
      gameId,
      game,
      week,
      replyUntil,
      timeZone,
      closed: replyUntil !== null && replyUntil.getTime() <= Date.now(),
      another: observer > 1 ? observer : undefined,
      isOpen: asked.report === undefined ? newest : asked.report === reportId,
      toAnswer: of.filter(({ mayReply }) => mayReply).length,
      marks: of.map((mark) => ({ ...markView(mark), mayReply: mark.mayReply })),
    };
  });
  return {
    games,
    chosen: chosen.show,
    choices: choices.map(({ show, words, takes }) => ({
      show,
      words,
      number: marks.filter(takes).length,
      here: show === chosen.show,
    })),
  };
}
