import { z } from 'zod';
import { positionFrom } from './position-spellings.ts';
import { positions } from './positions.ts';

/** `picked up`: the flag was thrown and then waved off, so that there was no foul. */
export const foulOutcomes = ['accepted', 'declined', 'offsetting', 'picked up'] as const;
export const foulMoments = ['live ball', 'dead ball'] as const;

const words = (most: number) =>
  z
    .string()
    .trim()
    .min(1)
    .max(most)
    .regex(/^[^;/]*$/, 'must not contain ";" or "/"');

/** One foul as called on the field. `by` is the team at the snap (or kick): the kicking team is the offense. */
export const foulSchema = z.strictObject({
  foul: words(60).describe('What was called, as holding.'),
  by: z
    .enum(['offense', 'defense'])
    .describe('The team at the snap or kick; the kicking team is the offense.'),
  reportedBy: z.enum(positions).optional().describe('Who threw the flag.'),
  outcome: z.enum(foulOutcomes).optional().describe('What came of it; "picked up": waved off, no foul.'),
  player: words(20).optional().describe('The number of the player, or who else it was, as coach.'),
  moment: z.enum(foulMoments).optional().describe('While the ball was live, or dead.'),
  spot: z
    .int('spot must be a whole yard')
    .min(0, 'spot must be 0 to 100')
    .max(100, 'spot must be 0 to 100')
    .optional()
    .describe('Where it happened, 0..100 in the same frame as the spot of the play.'),
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
