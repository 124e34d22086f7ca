import type { Position } from '../../football/positions.ts';
import { type Grade, gradeGame } from '../../grading/game-grade.ts';
import { dutyCountOf } from './duty-count.ts';
import { gathered } from './gathered.ts';
import type { SeasonCount } from './season-counts.ts';

export type OfficialGame = {
  gameId: string;
  reportId: string;
  week: number;
  position: Position;
  grade: Grade;
};

/** A duty missed in more than one game: a plain count, before it is asked whether chance explains it. */
export type RepeatMiss = { dutyKey: string; misses: number; opportunities: number; games: number };

export type OfficialSeason = {
  positions: { position: Position; games: number; grade: Grade }[];
  /** One line for each report, earliest week first. */
  games: OfficialGame[];
  repeatMisses: RepeatMiss[];
};

/** What a season's released counts say of one official. `counts` may be the whole season's. */
export function officialSeason(counts: readonly SeasonCount[], personId: string): OfficialSeason {
  const own = counts.filter((row) => row.personId === personId);
  return {
    positions: gathered(own, (row) => row.position).map((rows) => ({
      position: rows[0]!.position,
      games: new Set(rows.map((row) => row.gameId)).size,
      grade: gradeGame(rows.map(dutyCountOf)),
    })),
    games: gathered(own, (row) => row.reportId)
      .map((rows) => ({
        gameId: rows[0]!.gameId,
        reportId: rows[0]!.reportId,
        week: rows[0]!.week,
        position: rows[0]!.position,
        grade: gradeGame(rows.map(dutyCountOf)),
      }))
      .sort((a, b) => a.week - b.week),
    repeatMisses: gathered(own, (row) => row.dutyKey)
      .map((rows) => ({
        dutyKey: rows[0]!.dutyKey,
        misses: rows.reduce((sum, row) => sum + row.notMet, 0),
        opportunities: rows.reduce((sum, row) => sum + row.opportunities - row.notCounted, 0),
        games: new Set(rows.filter((row) => row.notMet > 0).map((row) => row.gameId)).size,
      }))
      .filter((miss) => miss.games >= 2)
      .sort((a, b) => b.games - a.games || b.misses - a.misses),
  };
}
