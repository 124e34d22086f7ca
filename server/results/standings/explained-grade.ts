import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import { type Grade, gradeGame } from '../../grading/game-grade.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { dutyCountOf } from './duty-count.ts';
import { gathered } from './gathered.ts';
import { type MissedPlay, readMissedPlays } from './missed-plays.ts';
import { readSeasonCounts, type SeasonCount } from './season-counts.ts';
import type { CurrentStandings, StandingLine } from './season-standings.ts';

/** How one official's grade in one position came about. */
export interface ExplainedGrade {
  position: Position;
  line: StandingLine;
  grade: Grade;
  duties: {
    key: string;
    title: string;
    opportunities: number;
    misses: number;
    pointsLost: number;
    plays: MissedPlay[];
  }[];
  games: { gameId: string; week: number; opportunities: number; misses: number; grade: number | null }[];
}

/** Explains an official's grades, one for each position worked; released reports only. */
export async function explainGrades(
  db: Parameters<typeof readSeasonCounts>[0] & Queryable,
  standings: CurrentStandings,
  of: { conferenceId: string; seasonId: string; personId: string },
): Promise<ExplainedGrade[]> {
  const { conferenceId, seasonId, personId } = of;
  const counts = await readSeasonCounts(db, conferenceId, seasonId, personId);
  const titles = await readDutyTitles(db, conferenceId, seasonId);
  const explained: ExplainedGrade[] = [];
  for (const line of standings.lines.filter((row) => row.personId === personId)) {
    const own = counts.filter((row) => row.position === line.position);
    const plays = await readMissedPlays(db, { ...of, position: line.position });
    const grade = gradeGame(own.map(dutyCountOf));
    explained.push({
      position: line.position,
      line,
      grade,
      duties:
        grade.grade === null
          ? []
          : grade.contributions.map((duty) => ({
              key: duty.duty,
              title: titles.get(duty.duty) ?? duty.duty,
              opportunities: duty.opportunities,
              misses: duty.opportunities - duty.met,
              pointsLost: duty.pointsLost,
              plays: plays.filter((play) => play.dutyKey === duty.duty),
            })),
      games: gathered(own, (row) => row.reportId)
        .map(gameOf)
        .sort((a, b) => a.week - b.week),
    });
  }
  return explained;
}

function gameOf(rows: SeasonCount[]) {
  const grade = gradeGame(rows.map(dutyCountOf));
  return {
    gameId: rows[0]!.gameId,
    week: rows[0]!.week,
    opportunities: grade.opportunities,
    misses: grade.opportunities - grade.met,
    grade: grade.grade,
  };
}
