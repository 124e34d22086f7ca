import { z } from 'zod';
import { positionsOf } from '../football/crews.ts';
import { crewSizes, positions } from '../football/positions.ts';
import { situationKeys } from '../football/situations/index.ts';
import { typedText } from '../text/typed-text.ts';
import { namedPositions } from './named-positions.ts';
import { selectorKeys } from './selectors/index.ts';

export const dutyCategories = [
  'before the snap',
  'spotting',
  'ending the play',
  'goal line',
  'passes',
  'runs and backfield',
  'kicks',
  'sideline and dead ball',
  'loose ball',
  'fouls and administration',
  'conduct',
  'over the game',
  'calls',
] as const;
export type DutyCategory = (typeof dutyCategories)[number];

export const commonPractice = 'common practice, no source';

const crewSizeSchema = z.literal(crewSizes, `crew size must be one of ${crewSizes.join(', ')}`);
const positionsSchema = z
  .array(z.enum(positions))
  .min(1, 'name at least one position')
  .refine((list) => new Set(list).size === list.length, 'a position is named twice');

const situationsSchema = z.array(z.enum(situationKeys)).max(8, 'name 8 situations at most').default([]);

/** The parts of a duty, before the checks that look at several parts together (`refusals.ts`). */
export const dutySchema = z.strictObject({
  /** Stable name: observations and counts refer to it across rubric versions. */
  key: z
    .string()
    .regex(
      /^[a-z0-9]+(-[a-z0-9]+)*$/,
      'use small letters, digits and single hyphens, such as "mark-the-spot"',
    )
    .max(60),
  title: typedText({ least: 3, most: 80, tooShort: 'give the duty a title' }),
  category: z.enum(dutyCategories),
  /** Owed on each play that its situations give, or once in a game by each of its positions. */
  per: z.enum(['play', 'game']).default('play'),
  /** Completes "is expected to ...". */
  expected: typedText({ least: 3, most: 300, tooShort: 'say what is expected' }),
  /** Whose duty it is in a full crew. Where a crew has no such position, who covers for it owes the duty. */
  positions: positionsSchema,
  crewSizes: z
    .array(crewSizeSchema)
    .min(1, 'name at least one crew size')
    .refine((list) => new Set(list).size === list.length, 'a crew size is named twice'),
  /** Crew sizes in which other positions than the covering ones owe it. */
  instead: z.array(z.strictObject({ crewSize: crewSizeSchema, positions: positionsSchema })).default([]),
  /** Which of those positions owe it on a given play. */
  who: z.enum(selectorKeys).default('each'),
  /** All of these must be true, */
  allOf: situationsSchema,
  /** at least one of these when any is named, */
  anyOf: situationsSchema,
  /** and none of these. */
  unless: situationsSchema,
  /** How much one opportunity counts in a grade. Relative: only ratios matter. */
  weight: z
    .number('weight must be a number')
    .refine((w) => Number.isFinite(w) && w > 0, 'weight must be a finite number above 0')
    .refine((w) => w <= 100, 'weight must be 100 or less'),
  gradedAs: z.enum(['mechanics', 'call']),
  /** What to work on, for letters and training; safety first. */
  guidance: typedText({ most: 2000 }).default(''),
  source: typedText({ least: 1, most: 200, tooShort: `cite a rule or write "${commonPractice}"` }).default(
    commonPractice,
  ),
});

/** What a form or file gives; defaults not filled in. */
export type DutyInput = z.input<typeof dutySchema>;
export type Duty = z.output<typeof dutySchema>;

/** The named positions that no crew of the duty's sizes has. */
export function positionsNoCrewHas(duty: Pick<Duty, 'positions' | 'crewSizes' | 'instead'>) {
  const sizesFor = (position: (typeof positions)[number]) =>
    duty.crewSizes.filter((size) => namedPositions(duty, size).includes(position));
  const named = new Set([...duty.positions, ...duty.instead.flatMap((other) => other.positions)]);
  return [...named].filter(
    (position) => !sizesFor(position).some((size) => positionsOf(size).includes(position)),
  );
}
