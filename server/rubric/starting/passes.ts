import type { DutyInput } from '../duty.ts';
import { allSizes, wings } from './crew-groups.ts';

export const passes: DutyInput[] = [
  {
    key: 'hold-at-the-line',
    title: 'Hold at the line of scrimmage',
    category: 'passes',
    expected: 'hold at the line of scrimmage until the receivers on their side are 10 to 12 yards down',
    positions: wings,
    crewSizes: allSizes,
    allOf: ['pass'],
    unless: ['snap-near-goal-line', 'snap-near-own-goal-line'],
    weight: 2,
    gradedAs: 'mechanics',
    guidance:
      'Leaving early gives away the neutral zone: nobody else can tell whether a short pass was caught behind or beyond it.',
  },
  {
    key: 'rule-behind-or-beyond',
    title: 'Rule behind or beyond from the line',
    category: 'passes',
    expected:
      'rule from the line whether the catch is behind or beyond the neutral zone, and beyond only when it is clearly beyond',
    positions: wings,
    crewSizes: allSizes,
    who: 'on the play side',
    allOf: ['pass-near-neutral-zone'],
    weight: 3,
    gradedAs: 'mechanics',
    guidance:
      'Beyond brings in offensive pass interference and ineligible receivers downfield, a 5-yard foul. When it is not clearly beyond, it is behind.',
  },
];
