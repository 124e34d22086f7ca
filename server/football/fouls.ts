import { z } from 'zod';
import { positionFrom } from './position-spellings.ts';
import { positions } from './positions.ts';

export const foulOutcomes = ['accepted', 'declined', 'offsetting'] as const;

/** One foul as called on the field. `by` is the team at the snap (or kick): the kicking team is the offense. */
export const foulSchema = z.strictObject({
  foul: z
    .string()
    .trim()
    .min(1)
    .max(60)
    .regex(/^[^;/]*$/, 'must not contain ";" or "/"'),
  by: z.enum(['offense', 'defense']),
  reportedBy: z.enum(positions).optional(),
  outcome: z.enum(foulOutcomes).optional(),
});
export type Foul = z.infer<typeof foulSchema>;

/**
 * Fouls in one CSV cell, as `holding / offense / umpire / accepted; offside / defense`.
 * Reporting position and outcome may be left out. `none` says that there was no foul; an empty cell says that
 * nobody logged whether there was one.
 */
export function foulsToText(fouls: readonly Foul[]): string {
  if (fouls.length === 0) return 'none';
  return fouls
    .map((f) => [f.foul, f.by, f.reportedBy ?? '', f.outcome ?? ''].join(' / ').replace(/( \/ )+$/, ''))
    .join('; ');
}

/** The inverse of `foulsToText`. Throws an Error that names the part at fault and the fix. */
export function foulsFromText(text: string): Foul[] {
  if (text.trim().toLowerCase() === 'none') return [];
  return text
    .split(';')
    .map((part) => part.trim())
    .filter((part) => part !== '')
    .map((part) => {
      const [foul, by, reportedBy, outcome] = part.split('/').map((cell) => cell.trim());
      const parsed = foulSchema.safeParse({
        foul,
        by: by?.toLowerCase(),
        reportedBy: reportedBy ? (positionFrom(reportedBy) ?? reportedBy) : undefined,
        outcome: outcome?.toLowerCase() || undefined,
      });
      if (parsed.success) return parsed.data;
      const issue = parsed.error.issues[0]!;
      throw new Error(
        `foul "${part}": ${issue.path.join('.')}: ${issue.message}; write "foul / offense or defense / position / ${foulOutcomes.join(' or ')}"`,
      );
    });
}
