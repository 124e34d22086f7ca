import type { Position } from '../../football/positions.ts';
import type { Grade } from '../../grading/game-grade.ts';
import type { ByKind } from '../../grading/grade-kinds.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { gradesOf } from './grades-of.ts';
import type { SeasonCount } from './season-counts.ts';

type OfficialGame = {
  gameId: string;
  week: number;
  /** How many observers watched this official. */
  observers: number;
  position: Position;
  grades: ByKind<Grade>;
};

/** A duty missed in more than one game: a plain count, before it is asked whether chance explains it. */
type RepeatMiss = { dutyKey: string; misses: number; opportunities: number; games: number };

type OfficialSeason = {
  positions: { position: Position; games: number; grades: ByKind<Grade> }[];
  /** One line for each game and position, earliest week first. */
  games: OfficialGame[];
  repeatMisses: RepeatMiss[];
};

/** What a season's released counts say of one official. `counts` may be the whole season's. */
export function officialSeason(counts: readonly SeasonCount[], personId: string): OfficialSeason {
  const own = counts.filter((row) => row.personId === personId);
  return {
    positions: groupsOf(own, (row) => row.position).map((rows) => ({
      position: rows[0]!.position,
      games: new Set(rows.map((row) => row.gameId)).size,
      grades: gradesOf(rows),
    })),
    games: groupsOf(own, (row) => `${row.gameId} ${row.position}`)
      .map((rows) => ({
        gameId: rows[0]!.gameId,
        week: rows[0]!.week,
        observers: rows[0]!.observerIds.length,
        position: rows[0]!.position,
        grades: gradesOf(rows),
      }))
      .sort((a, b) => a.week - b.week),
    repeatMisses: groupsOf(own, (row) => row.dutyKey)
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
