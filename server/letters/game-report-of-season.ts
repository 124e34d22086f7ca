import { effectOf } from '../duties/finding.ts';
import type { Position } from '../football/positions.ts';
import type { Grade } from '../grading/game-grade.ts';
import { groupsOf } from '../grading/group-by.ts';
import type { DutyName } from '../results/patterns/pattern-counts.ts';
import { callTally, mechanicsTally } from '../results/standings/call-tally.ts';
import { gradesOf } from '../results/standings/grades-of.ts';
import type { OfficialShares } from '../results/standings/official-shares.ts';
import type { SeasonCount } from '../results/standings/season-counts.ts';
import { replyOf } from './answering.ts';
import { coverageSentence } from './coverage-sentence.ts';
import type { GameReportData } from './letter-data.ts';
import { playLine } from './play-line.ts';
import type { SeasonMark } from './season-source.ts';

/** One released game as its report needs it. */
export interface ReleasedGame {
  conference: { name: string; policyText: string };
  seasonName: string;
  gameId: string;
  title: string;
  week: number;
  /** Day of the game where it was played, YYYY-MM-DD. */
  day: string;
  /** Day of the latest release, YYYY-MM-DD: the report's own date. */
  releasedOn: string;
  /** The day until which each official may answer all of it; those who may not are missing. */
  answerBy: ReadonlyMap<string, string>;
  plays: number;
  revision: number;
  people: ReadonlyMap<string, { name: string; crew: string | null }>;
  counts: readonly SeasonCount[];
  marks: readonly SeasonMark[];
  shares: readonly OfficialShares[];
  duties: ReadonlyMap<string, Pick<DutyName, 'title' | 'guidance'>>;
  coordinator: string;
}

/** The data of one official's report of one game; null when no released report of it counts them. */
export function gameReportOf(
  game: ReleasedGame,
  personId: string,
  answerPage: string,
): GameReportData | null {
  const own = game.counts.filter((row) => row.personId === personId);
  const person = game.people.get(personId);
  if (own.length === 0 || !person) return null;
  const position: Position = own[0]!.position;
  const grades = gradesOf(own);
  const grade = grades.whole;
  const all = game.marks.filter((mark) => mark.personId === personId);
  const marks = all.filter((mark) => mark.whyNotCounted === null);
  const line = (mark: SeasonMark) => ({
    ...playLine(mark, answerPage),
    duty: game.duties.get(mark.dutyKey)?.title ?? mark.dutyKey,
  });
  const total = (of: (row: SeasonCount) => number) => own.reduce((sum, row) => sum + of(row), 0);
  return {
    edition: 1,
    issuedOn: game.releasedOn,
    conference: {
      name: game.conference.name,
      coordinator: game.coordinator,
      policy: game.conference.policyText.trim() || null,
    },
    season: { name: game.seasonName },
    official: { name: person.name, position, crew: person.crew },
    game: {
      title: game.title,
      week: game.week,
      date: game.day,
      plays: game.plays,
      observers: new Set(own.flatMap((row) => row.observerIds)).size,
      revision: game.revision,
    },
    grade: { ...figure(grade), calls: figure(grades.calls), mechanics: figure(grades.mechanics) },
    totals: {
      opportunities: grade.opportunities,
      met: grade.met,
      misses: grade.opportunities - grade.met,
      model: total((row) => row.model),
      notCounted: total((row) => row.notCounted),
    },
    calls: callTally(
      own,
      marks.filter(({ finding }) => effectOf(finding) === 'not met').map(({ finding }) => finding),
    ),
    mechanics: mechanicsTally(own),
    takeAlong: takeAlong(grade, game.duties),
    categories:
      grade.grade === null
        ? []
        : groupsOf(grade.contributions, ({ category }) => category ?? '').map((duties) => ({
            category: duties[0]!.category ?? 'other',
            opportunities: duties.reduce((sum, duty) => sum + duty.opportunities, 0),
            met: duties.reduce((sum, duty) => sum + duty.met, 0),
            lost: duties.reduce((sum, duty) => sum + duty.pointsLost, 0),
          })),
    strengths: marks.filter(({ finding }) => finding === 'model').map(line),
    misses: marks.filter(({ finding }) => effectOf(finding) === 'not met').map(line),
    uncounted: all.flatMap((mark) =>
      mark.whyNotCounted === null ? [] : [{ ...line(mark), why: mark.whyNotCounted }],
    ),
    coverage: coverageSentence(game.shares, { personId, position }),
    missesNotShown: 0,
    reply: replyOf(game.answerBy.get(personId) ?? null, answerPage),
  };
}

/** The duty that cost most, where the rubric says how to do it well. */
function takeAlong(grade: Grade, duties: ReleasedGame['duties']): GameReportData['takeAlong'] {
  const costliest = grade.grade === null ? undefined : grade.contributions[0];
  const duty = costliest && duties.get(costliest.duty);
  const guidance = duty?.guidance.trim() ?? '';
  if (!duty || guidance === '' || costliest.pointsLost === 0) return null;
  return { duty: duty.title, pointsLost: costliest.pointsLost, guidance };
}

const figure = (grade: Grade) => ({
  value: grade.grade,
  reason: grade.grade === null ? grade.reason : null,
});
