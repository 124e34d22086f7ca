import { effectOf, type Finding } from '../duties/finding.ts';
import type { Position } from '../football/positions.ts';
import { gradeGame } from '../grading/game-grade.ts';
import { dutyCountOf } from '../results/standings/duty-count.ts';
import { gathered } from '../results/standings/gathered.ts';
import type { SeasonCount } from '../results/standings/season-counts.ts';
import { replyOf } from './answering.ts';
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
  dutyTitles: ReadonlyMap<string, string>;
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
  const grade = gradeGame(own.map(dutyCountOf));
  const marks = game.marks.filter((mark) => mark.personId === personId);
  const line = (mark: SeasonMark) => ({
    ...playLine(mark),
    duty: game.dutyTitles.get(mark.dutyKey) ?? mark.dutyKey,
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
      observers: new Set(own.map((row) => row.observerId)).size,
      revision: game.revision,
    },
    grade: { value: grade.grade, reason: grade.grade === null ? grade.reason : null },
    totals: {
      opportunities: grade.opportunities,
      met: grade.met,
      misses: grade.opportunities - grade.met,
      model: total((row) => row.model),
      notCounted: total((row) => row.notCounted),
    },
    categories:
      grade.grade === null
        ? []
        : gathered(grade.contributions, ({ category }) => category ?? '').map((duties) => ({
            category: duties[0]!.category ?? 'other',
            opportunities: duties.reduce((sum, duty) => sum + duty.opportunities, 0),
            met: duties.reduce((sum, duty) => sum + duty.met, 0),
            lost: duties.reduce((sum, duty) => sum + duty.pointsLost, 0),
          })),
    strengths: marks.filter(({ finding }) => finding === 'model').map(line),
    misses: marks.filter(({ finding }) => effectOf(finding as Finding) === 'not met').map(line),
    missesNotShown: 0,
    reply: replyOf(game.answerBy.get(personId) ?? null, answerPage),
  };
}
