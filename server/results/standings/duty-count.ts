import type { DutyCount } from '../../grading/game-grade.ts';
import type { SeasonCount } from './season-counts.ts';

type Countable = Pick<
  SeasonCount,
  'dutyKey' | 'category' | 'weight' | 'opportunities' | 'notCounted' | 'notMet' | 'cost'
>;

/** A stored count as grading takes it: what was not seen or not told is in neither number. */
export const dutyCountOf = (row: Countable): DutyCount => ({
  duty: row.dutyKey,
  category: row.category,
  weight: row.weight,
  opportunities: row.opportunities - row.notCounted,
  met: row.opportunities - row.notCounted - row.notMet,
  cost: row.cost,
});
