import { z } from 'zod';
import { positions } from '../football/positions.ts';

const watchedPositions = z
  .array(z.enum(positions))
  .refine((list) => new Set(list).size === list.length, 'a position is named twice');

/** The most ranges of plays that one report sets apart. */
const mostStretches = 60;

/**
 * What an observer watched: these positions for the whole report, and in each stretch of plays (both ends in it; null:
 * from the first, to the last) those named there instead. Where stretches overlap the later one holds.
 */
export const watchedSchema = z.strictObject({
  positions: watchedPositions,
  stretches: z
    .array(
      z.strictObject({
        from: z.uuid().nullable(),
        to: z.uuid().nullable(),
        positions: watchedPositions,
      }),
    )
    .max(mostStretches, `set apart ${mostStretches} ranges of plays at most`),
});

export type Watched = z.infer<typeof watchedSchema>;
