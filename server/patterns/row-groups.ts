import type { SeasonCounts } from './counts.ts';

/** Rows of one duty and cut (and position, for officials), by number in `SeasonCounts.rows`. */
export interface RowGroup {
  duty: string;
  situationCut: string | null;
  /** Empty where positions are taken together. */
  position: string;
  members: readonly number[];
}

/**
 * Rows grouped by duty and cut, and by position too where asked; in the order first met. A cut that holds all of a
 * duty's chances (a goal-line duty, at the goal line) is the duty itself and makes no group: it would be compared
 * twice.
 */
export function groupRows(counts: SeasonCounts, by: 'duty and position' | 'duty'): RowGroup[] {
  const byPosition = by === 'duty and position';
  type Growing = RowGroup & { members: number[]; opportunities: number };
  const groups: Growing[] = [];
  const index = new Map<string, Map<string, Growing[]>>();
  for (let i = 0; i < counts.rows.length; i++) {
    const row = counts.rows[i]!;
    const cut = row.situationCut || '';
    let cuts = index.get(row.duty);
    if (!cuts) {
      cuts = new Map();
      index.set(row.duty, cuts);
    }
    let positions = cuts.get(cut);
    if (!positions) {
      positions = [];
      cuts.set(cut, positions);
    }
    const at = byPosition ? counts.position.of[i]! : 0;
    let group = positions[at];
    if (!group) {
      group = {
        duty: row.duty,
        situationCut: cut === '' ? null : cut,
        position: byPosition ? row.position : '',
        members: [],
        opportunities: 0,
      };
      positions[at] = group;
      groups.push(group);
    }
    group.members.push(i);
    group.opportunities += row.opportunities;
  }
  return groups.filter((group) => {
    if (group.situationCut === null) return true;
    const at = byPosition ? counts.position.of[group.members[0]!]! : 0;
    const whole = index.get(group.duty)!.get('')?.[at];
    return !whole || group.opportunities < whole.opportunities;
  });
}
