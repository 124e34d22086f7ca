import { effectOf } from '../duties/finding.ts';
import type { OwnMark } from '../reports/review/mark-lines.ts';
import type { MarkedChance } from '../results/marked-chances.ts';
import { remarkInWords, whyChanceNotCounted } from '../results/remark-words.ts';

/** What was noted of an official on one play for one duty: once, however many observers marked it. */
export interface NotedChance {
  /** The mark that its place on a page is named after. */
  id: string;
  playId: string;
  gameId: string;
  week: number;
  game: string;
  dutyKey: string;
  position: string;
  /** The chief mark: of those that decided, the one that cost most. */
  chief: OwnMark;
  /** What all observers wrote, in one. */
  comment: string;
  /** Why it does not count, in a sentence; null when it counts. */
  whyNotCounted: string | null;
  /** Counts against the grade. */
  isMiss: boolean;
  /** Each observer's mark, to be answered by itself. */
  marks: OwnMark[];
}

/**
 * An official's released marks by chance, newest game first and in the order of play. A mark that was withdrawn after an
 * answer stands for itself.
 */
export function notedChances(chances: readonly MarkedChance[], marks: readonly OwnMark[]): NotedChance[] {
  const byId = new Map(marks.map((mark) => [mark.id, mark]));
  const counted = chances.flatMap((chance): NotedChance[] => {
    const own = chance.observationIds.flatMap((id) => byId.get(id) ?? []);
    const chief =
      own.find((mark) => mark.finding === chance.finding && mark.consequence === chance.consequence) ??
      own[0];
    if (!chief) return [];
    return [
      {
        ...placeOf(chief),
        comment: remarkInWords(chance),
        whyNotCounted: whyChanceNotCounted(chance),
        isMiss: chance.outcome === 'missed' && effectOf(chance.finding) === 'not met',
        marks: own,
      },
    ];
  });
  const withdrawn = marks
    .filter(({ removed }) => removed)
    .map((mark) => ({
      ...placeOf(mark),
      comment: mark.comment,
      whyNotCounted: 'Withdrawn after an answer, so it does not count.',
      isMiss: false,
      marks: [mark],
    }));
  return [...counted, ...withdrawn].sort((a, b) => b.week - a.week || order(a, b));
}

const order = (a: NotedChance, b: NotedChance) =>
  a.gameId === b.gameId ? a.chief.number - b.chief.number : a.gameId < b.gameId ? -1 : 1;

const placeOf = (chief: OwnMark) => ({
  id: chief.id,
  playId: chief.playId,
  gameId: chief.gameId,
  week: chief.week,
  game: chief.game,
  dutyKey: chief.dutyKey,
  position: chief.position,
  chief,
});
