import type { DutyCount } from '../../grading/game-grade.ts';
import type { SeasonCount } from './season-counts.ts';

/** A stored count as grading takes it: what was not seen or not told is in neither number. */
export const dutyCountOf = (row: SeasonCount): DutyCount => ({
  duty: row.dutyKey,
  category: row.category,
  weight: row.weight,
  opportunities: row.opportunities - row.notCounted,
  met: row.opportunities - row.notCounted - row.notMet,
});
