import type { PlanCost } from '../../planning/plan-cost.ts';

export interface CostLine {
  readonly label: string;
  readonly present: number;
  readonly suggested: number | null;
}

const costLabels: readonly (readonly [keyof PlanCost, string])[] = [
  ['travel', 'Travel, one way'],
  ['film', 'Watching on film'],
  ['repeatedPairs', 'Same observer, same crew again'],
  ['load', 'Uneven load'],
  ['information', 'Gain for the grades'],
  ['separateGroups', 'Crews not comparable'],
  ['missedCrewTargets', "Crews short of the season's target"],
  ['unfilled', 'Empty places'],
];

/** Both plans by the same parts: a place that is empty now has its price now, so that filling it is seen to save it. */
export function costLines(present: PlanCost, suggested: PlanCost | null): CostLine[] {
  const lines = costLabels
    .map(([key, label]) => ({ label, present: present[key], suggested: suggested ? suggested[key] : null }))
    .filter((line) => line.present !== 0 || (line.suggested ?? 0) !== 0);
  return [
    ...lines,
    {
      label: 'Together',
      present: present.total,
      suggested: suggested ? suggested.total : null,
    },
  ];
}

const partNames: readonly (readonly [keyof PlanCost, string])[] = [
  ['travel', 'travel'],
  ['film', 'film'],
  ['repeatedPairs', 'repeat'],
  ['load', 'load'],
  ['information', 'gain'],
  ['separateGroups', 'comparable'],
  ['missedCrewTargets', 'target'],
];

export function signed(miles: number): string {
  const whole = Math.round(miles);
  return whole === 0 ? '0' : whole > 0 ? `+${whole}` : `−${-whole}`;
}

export function changeInParts(change: PlanCost): string {
  return partNames
    .filter(([key]) => Math.round(change[key]) !== 0)
    .map(([key, label]) => `${label} ${signed(change[key])}`)
    .join(', ');
}
