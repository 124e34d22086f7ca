import { z } from 'zod';
import { consequences } from '../../duties/consequence.ts';
import { type Finding, findings } from '../../duties/finding.ts';
import { markStandings } from '../../duties/mark-standing.ts';
import { positions } from '../../football/positions.ts';
import { typedText } from '../../text/typed-text.ts';
import { longestReason } from '../states.ts';

// What the routes of reviewing have in common.

export const tags = ['reports'];
export const id = z.uuid();
export const reportAddress = z.object({ reportId: id });
export const seasonAddress = z.object({ seasonId: id });
export const findingSchema = z.enum(findings as [Finding, ...Finding[]]);
export const consequenceSchema = z
  .enum(consequences)
  .nullable()
  .describe('What a wrong or missed call cost; null when not judged, which weighs what its duty does.');
export const reasonSchema = typedText({ least: 1, most: longestReason, tooShort: 'give the reason' });
export const moment = z.date().nullable();

/** A mark as its official and the coordinator see it. */
export const markSchema = z.object({
  id: z.string(),
  playId: z.string(),
  number: z.int(),
  personId: z.string(),
  official: z.string(),
  position: z.enum(positions),
  dutyKey: z.string(),
  duty: z.string(),
  finding: findingSchema,
  consequence: consequenceSchema,
  comment: z.string(),
  standing: z
    .enum(markStandings)
    .nullable()
    .describe('Whether the mark counts in grades, and if not, why not; null before its report is filed.'),
  removed: z.boolean(),
  reply: z.string().nullable(),
  ruling: z.string().nullable(),
  changedTo: findingSchema.nullable(),
  rulingNote: z.string().nullable(),
});
