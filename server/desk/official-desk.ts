/** A released report about the official. */
export interface EvaluationFact {
  readonly reportId: string;
  readonly gameId: string;
  readonly game: string;
  readonly week: number;
  readonly releasedAt: Date;
  /** The end of the last day to answer; null without an end. */
  readonly answerUntil: Date | null;
  /** Marks about the official that are not withdrawn; those of them not answered. */
  readonly marks: number;
  readonly unanswered: number;
}

export interface LetterFact {
  readonly id: string;
  readonly title: string;
  readonly releasedAt: Date;
}

/** An answer of the official's to a mark. */
interface AnswerFact {
  readonly replyId: string;
  readonly game: string;
  readonly week: number;
  readonly play: number;
  readonly duty: string;
  readonly repliedAt: Date;
  readonly ruling: 'stands' | 'changed' | 'withdrawn' | null;
  readonly ruledAt: Date | null;
}

/** An open development point that the official was told of. */
interface OwnPointFact {
  readonly duty: string;
  /** How it is done well; empty where the rubric does not say. */
  readonly guidance: string;
  readonly situation: string;
  /** Day of the first conversation or letter, YYYY-MM-DD. */
  readonly told: string;
}

/** A place at a game after the season that the official was offered and can still answer, of whichever season. */
interface OfferFact {
  readonly game: string;
  /** The last day to answer, YYYY-MM-DD. */
  readonly answerBy: string;
}

export interface OfficialFacts {
  readonly evaluations: readonly EvaluationFact[];
  readonly letters: readonly LetterFact[];
  readonly answers: readonly AnswerFact[];
  readonly points: readonly OwnPointFact[];
  readonly offers: readonly OfferFact[];
  /** A season for which the official has not said yet when they are away; null without one. */
  readonly availability: { readonly season: string; readonly askedAt: Date } | null;
}

interface News {
  readonly at: Date;
  readonly title: string;
  readonly says: string;
  readonly href: string;
}

/** What can be answered of a game, however many observers reported on it. */
interface ToAnswer {
  readonly week: number;
  readonly game: string;
  readonly href: string;
  readonly unanswered: number;
  readonly observers: number;
  /** What ends first; null without an end. */
  readonly answerUntil: Date | null;
}

export interface OfficialDesk {
  /** Of the last days, newest first. */
  readonly news: readonly News[];
  /** What came last, when nothing is new. */
  readonly before: readonly News[];
  /** Games with marks that can still be answered, what ends first in front. */
  readonly toAnswer: readonly ToAnswer[];
  readonly waitingForRuling: readonly AnswerFact[];
  readonly points: readonly OwnPointFact[];
  readonly offers: readonly OfferFact[];
  readonly availability: OfficialFacts['availability'];
}

/** What came within so many days is new. */
export const daysNew = 14;
const day = 24 * 3600 * 1000;

export function officialDesk(facts: OfficialFacts, now: Date): OfficialDesk {
  const all = [
    ...byGame(facts.evaluations).map(evaluationNews),
    ...facts.letters.map(({ id, title, releasedAt }) => ({
      at: releasedAt,
      title,
      says: 'Your letter is there to read.',
      href: `/api/letters/${id}/letter.pdf`,
    })),
    ...facts.answers.flatMap(rulingNews),
  ].sort((one, other) => other.at.getTime() - one.at.getTime() || one.title.localeCompare(other.title));
  const isNew = ({ at }: News) => now.getTime() - at.getTime() < daysNew * day;
  const news = all.filter(isNew);
  return {
    news,
    before: news.length > 0 ? [] : all.slice(0, 3),
    toAnswer: byGame(
      facts.evaluations.filter(
        ({ unanswered, answerUntil }) => unanswered > 0 && (answerUntil === null || answerUntil >= now),
      ),
    )
      .map(answerOfGame)
      .sort((one, other) => endOf(one) - endOf(other) || one.week - other.week),
    waitingForRuling: facts.answers.filter(({ ruling }) => ruling === null),
    points: facts.points,
    offers: facts.offers,
    availability: facts.availability,
  };
}

/** Two observers of a game are one game to its official. */
function byGame(evaluations: readonly EvaluationFact[]): EvaluationFact[][] {
  const games = new Map<string, EvaluationFact[]>();
  for (const one of evaluations) games.set(one.gameId, [...(games.get(one.gameId) ?? []), one]);
  return [...games.values()];
}

const sum = (reports: readonly EvaluationFact[], of: 'marks' | 'unanswered') =>
  reports.reduce((total, report) => total + report[of], 0);

function evaluationNews(reports: EvaluationFact[]): News {
  const { week, game } = reports[0]!;
  const marks = sum(reports, 'marks');
  const by = reports.length > 1 ? `, by ${reports.length} observers` : '';
  return {
    at: new Date(Math.max(...reports.map(({ releasedAt }) => releasedAt.getTime()))),
    title: `Week ${week}: ${game}`,
    says:
      marks === 0
        ? `Your evaluation is released${by}; nothing was marked.`
        : `Your evaluation is released${by}, with ${marks} ${marks === 1 ? 'mark' : 'marks'}.`,
    href: marks === 0 ? '/my/evaluation' : marksOf(reports[0]!.reportId),
  };
}

/** My marks, open and at that report. */
const marksOf = (reportId: string) => `/my/marks?report=${reportId}#report-${reportId}`;

function answerOfGame(reports: EvaluationFact[]): ToAnswer {
  const { week, game, reportId } = reports[0]!;
  const ends = reports.flatMap(({ answerUntil }) => (answerUntil ? [answerUntil.getTime()] : []));
  return {
    week,
    game,
    href: marksOf(reportId),
    unanswered: sum(reports, 'unanswered'),
    observers: reports.length,
    answerUntil: ends.length > 0 ? new Date(Math.min(...ends)) : null,
  };
}

const endOf = ({ answerUntil }: ToAnswer) => answerUntil?.getTime() ?? Number.POSITIVE_INFINITY;

const outcome = {
  stands: 'The mark stands.',
  changed: 'The mark is changed.',
  withdrawn: 'The mark is withdrawn.',
} as const;

function rulingNews({ replyId, week, game, play, duty, ruling, ruledAt }: AnswerFact): News[] {
  if (ruling === null || ruledAt === null) return [];
  const title = `Ruling on your answer: ${duty}`;
  const says = `${outcome[ruling]} Week ${week}, ${game}, play ${play}.`;
  return [{ at: ruledAt, title, says, href: `/replies/${replyId}` }];
}

/** What the menu counts: what an official may or should do, by the menu's pages. */
export const officialCounts = (desk: OfficialDesk): { marks: number; offers: number; away: number } => ({
  marks: desk.toAnswer.length,
  offers: desk.offers.length,
  away: desk.availability ? 1 : 0,
});
