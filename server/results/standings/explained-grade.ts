import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import type { Grade } from '../../grading/game-grade.ts';
import { type ByKind, byKind, type GradeKind } from '../../grading/grade-kinds.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { gradesOf } from './grades-of.ts';
import { type MissedPlay, readMissedPlays } from './missed-plays.ts';
import { readSeasonCounts, type SeasonCount } from './season-counts.ts';
import type { CurrentStandings, StandingLine } from './season-standings.ts';

/** How one official's grade in one position came about. */
export interface ExplainedGrade {
  position: Position;
  line: StandingLine;
  grade: Grade;
  /** The whole beside calls and mechanics, each by the same arithmetic and model. */
  kinds: ByKind<KindOfGrade>;
  duties: {
    key: string;
    title: string;
    opportunities: number;
    misses: number;
    /** Chances that two observers judged differently: in neither of the numbers. */
    differed: number;
    pointsLost: number;
    plays: MissedPlay[];
  }[];
  games: {
    gameId: string;
    week: number;
    /** How many observers watched this official. */
    observers: number;
    opportunities: number;
    misses: number;
    grade: number | null;
    grades: ByKind<number | null>;
  }[];
}

/** One kind of an official's season grade. */
export interface KindOfGrade {
  raw: number | null;
  adjusted: StandingLine['adjusted'];
  opportunities: number;
  misses: number;
  /** Why there is no grade; null with one. */
  reason: string | null;
}

/** Explains an official's grades, one for each position worked; released reports only. */
export async function explainGrades(
  db: Parameters<typeof readSeasonCounts>[0] & Queryable,
  standings: ByKind<CurrentStandings>,
  of: { conferenceId: string; seasonId: string; personId: string },
): Promise<ExplainedGrade[]> {
  const { conferenceId, seasonId, personId } = of;
  const counts = await readSeasonCounts(db, conferenceId, seasonId, personId);
  const titles = await readDutyTitles(db, conferenceId, seasonId);
  const explained: ExplainedGrade[] = [];
  for (const line of standings.whole.lines.filter((row) => row.personId === personId)) {
    const own = counts.filter((row) => row.position === line.position);
    const plays = await readMissedPlays(db, { ...of, position: line.position });
    const grades = gradesOf(own);
    const grade = grades.whole;
    explained.push({
      position: line.position,
      line,
      grade,
      kinds: kindsOf(grades, standings, line),
      duties:
        grade.grade === null
          ? []
          : grade.contributions.map((duty) => ({
              key: duty.duty,
              title: titles.get(duty.duty) ?? duty.duty,
              opportunities: duty.opportunities,
              misses: duty.opportunities - duty.met,
              differed: own
                .filter((row) => row.dutyKey === duty.duty)
                .reduce((sum, row) => sum + row.differed, 0),
              pointsLost: duty.pointsLost,
              plays: plays.filter((play) => play.dutyKey === duty.duty),
            })),
      games: groupsOf(own, (row) => row.gameId)
        .map(gameOf)
        .sort((a, b) => a.week - b.week),
    });
  }
  return explained;
}

/** An official's grades of each kind in one position, as marked and adjusted. */
export function kindsOf(
  grades: ByKind<Grade>,
  standings: ByKind<CurrentStandings>,
  { personId, position }: Pick<StandingLine, 'personId' | 'position'>,
): ByKind<KindOfGrade> {
  const lineIn = (kind: GradeKind) =>
    standings[kind].lines.find((line) => line.personId === personId && line.position === position);
  return byKind((kind) => {
    const { grade: raw, opportunities, met, ...rest } = grades[kind];
    return {
      raw,
      adjusted: lineIn(kind)?.adjusted ?? null,
      opportunities,
      misses: opportunities - met,
      reason: 'reason' in rest ? rest.reason : null,
    };
  });
}

function gameOf(rows: SeasonCount[]) {
  const grades = gradesOf(rows);
  const grade = grades.whole;
  return {
    gameId: rows[0]!.gameId,
    week: rows[0]!.week,
    observers: rows[0]!.observerIds.length,
    opportunities: grade.opportunities,
    misses: grade.opportunities - grade.met,
    grade: grade.grade,
    grades: byKind((kind) => grades[kind].grade),
  };
}
