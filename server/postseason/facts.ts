import { z } from 'zod';
import type { FactsOfOfficial } from '../selection/candidate.ts';
import { typedDay, typedText } from '../text/typed-text.ts';

const whole = (field: string, most: number) =>
  z
    .number(`${field} must be a whole number, or empty where it is not known`)
    .int(`${field} must be a whole number, or empty where it is not known`)
    .min(0, `${field} must be at least 0`)
    .max(most, `${field} must be at most ${most}`)
    .nullable()
    .default(null);
const yesOrNo = (field: string) =>
  z.boolean(`${field} must be yes or no, or empty where it is not known`).nullable().default(null);

/** What is known of one official beside grades. Null: not known. */
const factsSchema = z.object({
  yearsOfService: whole('yearsOfService', 80),
  fitnessPassed: yesOrNo('fitnessPassed'),
  fitnessUntil: typedDay('fitnessUntil must be a day such as 2032-06-30, or empty')
    .nullable()
    .default(null)
    .describe('The last day on which the fitness test counts; null where it does not end.'),
  rulesTestScore: z
    .number('rulesTestScore must be a number of percent, or empty where it is not known')
    .min(0, 'rulesTestScore must be at least 0')
    .max(100, 'rulesTestScore must be at most 100')
    .nullable()
    .default(null),
  goodStanding: yesOrNo('goodStanding'),
  standingReason: typedText({ most: 2000 }).default(''),
  available: yesOrNo('available'),
  daysAway: z
    .array(typedDay('daysAway must be days such as 2031-12-06'))
    .max(60, 'daysAway must be 60 days at most')
    .default([])
    .transform((days) => [...new Set(days)].sort()),
  postseasonsLately: whole('postseasonsLately', 30).describe(
    'Postseason games worked in the last three seasons, as far as this program does not know them by itself.',
  ),
});

export const factsOfOfficialSchema = factsSchema.extend({
  ties: z
    .array(z.uuid('ties must be teams of the conference'))
    .max(100)
    .default([])
    .describe('Teams of the conference to which the official is tied, in any season.'),
  revision: z
    .int()
    .min(0)
    .describe('The revision that was changed, 0 for none before: refused when there is a newer one.'),
});
export type FactsTyped = z.output<typeof factsOfOfficialSchema>;

/** One official of a season, with what is known of them. */
export interface FactsLine {
  readonly personId: string;
  readonly facts: FactsOfOfficial;
  readonly ties: readonly string[];
  readonly enteredHow: 'page' | 'file' | 'program' | null;
  readonly enteredBy: string | null;
  readonly enteredAt: string | null;
  /** 0 where nothing was entered. */
  readonly revision: number;
}
