import * as z from 'zod/mini'; // runs in browsers too, at a third of the size
import { positionFrom } from './position-spellings.ts';
import { positions } from './positions.ts';

/** `picked up`: the flag was thrown and then waved off, so that there was no foul. */
export const foulOutcomes = ['accepted', 'declined', 'offsetting', 'picked up'] as const;
export const foulMoments = ['live ball', 'dead ball'] as const;

const words = (most: number) =>
  z
    .string()
    .check(z.trim(), z.minLength(1), z.maxLength(most), z.regex(/^[^;/]*$/, 'must not contain ";" or "/"'));

/** One foul as called on the field. `by` is the team at the snap (or kick): the kicking team is the offense. */
export const foulSchema = z.strictObject({
  foul: words(60),
  by: z.enum(['offense', 'defense']),
  reportedBy: z.optional(z.enum(positions)),
  outcome: z.optional(z.enum(foulOutcomes)),
  player: z.optional(words(20)),
  moment: z.optional(z.enum(foulMoments)),
  spot: z.optional(
    z
      .int('spot must be a whole yard')
      .check(z.minimum(0, 'spot must be 0 to 100'), z.maximum(100, 'spot must be 0 to 100')),
  ),
});
export type Foul = z.infer<typeof foulSchema>;

const cellParts = 'foul / offense or defense / position / outcome / player / live ball or dead ball / spot';

/**
 * Fouls in one CSV cell, as `holding / offense / umpire / accepted / 72 / live ball / 38; offside / defense`.
 * Everything after the team may be left out. `none` says that there was no foul; an empty cell says that nobody
 * logged whether there was one.
 */
export function foulsToText(fouls: readonly Foul[]): string {
  if (fouls.length === 0) return 'none';
  return fouls
    .map((f) =>
      [f.foul, f.by, f.reportedBy, f.outcome, f.player, f.moment, f.spot]
        .map((part) => part ?? '')
        .join(' / ')
        .replace(/( \/ )+$/, ''),
    )
    .join('; ');
}

/** The inverse of `foulsToText`. Throws an Error that names the part at fault and the fix. */
export function foulsFromText(text: string): Foul[] {
  if (text.trim().toLowerCase() === 'none') return [];
  const parts = text
    .split(';')
    .map((part) => part.trim())
    .filter((part) => part !== '');
  // Separators alone do not say that there was none.
  if (parts.length === 0) throw new Error(`no foul is named; write "none" or "${cellParts}"`);
  return parts.map((part) => {
    const cells = part.split('/').map((cell) => cell.trim());
    const [foul, by, reportedBy, outcome, player, moment, spot] = cells;
    const parsed = foulSchema.safeParse({
      foul,
      by: by?.toLowerCase(),
      reportedBy: reportedBy ? (positionFrom(reportedBy) ?? reportedBy) : undefined,
      outcome: outcome?.toLowerCase() || undefined,
      player: player || undefined,
      moment: moment?.toLowerCase() || undefined,
      spot: spot ? Number(spot) : undefined,
    });
    if (parsed.success && cells.length <= 7) return parsed.data;
    const issue = parsed.success ? undefined : parsed.error.issues[0]!;
    const reason = issue ? `${issue.path.join('.')}: ${issue.message}` : 'it has too many parts';
    throw new Error(
      `foul "${part}": ${reason}; write "${cellParts}", outcome being ${foulOutcomes.join(' or ')}`,
    );
  });
}
