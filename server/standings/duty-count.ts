import { type Position, positions } from '../football/positions.ts';
import { type DutyCount, type Grade, gradeGame } from '../grading/game-grade.ts';
import { gathered } from './gathered.ts';
import type { SeasonCount } from './season-counts.ts';

/** One official in one position over the season, before any adjustment. */
export type RawStanding = {
  personId: string;
  position: Position;
  games: number;
  reports: number;
  /** Counted chances, over all duties. */
  opportunities: number;
  misses: number;
  grade: Grade;
};

export const dutyCountOf = (row: SeasonCount): DutyCount => ({
  duty: row.dutyKey,
  category: row.category,
  weight: row.weight,
  opportunities: row.opportunities - row.notCounted,
  met: row.opportunities - row.notCounted - row.notMet,
});

/** Grades each official in each position they worked, pooled over games: positions in trade order, best first. */
export function rawStandings(counts: readonly SeasonCount[]): RawStanding[] {
  return gathered(counts, (row) => `${row.personId} ${row.position}`)
    .map((rows) => {
      const grade = gradeGame(rows.map(dutyCountOf));
      return {
        personId: rows[0]!.personId,
        position: rows[0]!.position,
        games: new Set(rows.map((row) => row.gameId)).size,
        reports: new Set(rows.map((row) => row.reportId)).size,
        opportunities: grade.opportunities,
        misses: grade.opportunities - grade.met,
        grade,
      };
    })
    .sort(
      (a, b) =>
        positions.indexOf(a.position) - positions.indexOf(b.position) ||
        (b.grade.grade ?? -1) - (a.grade.grade ?? -1) ||
        (a.personId < b.personId ? -1 : 1),
    );
}
