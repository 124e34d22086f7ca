import { z } from 'zod';

const id = z.uuid();

/** A game, its observer and the way of watching, as one value of a list. */
export const planChoice = z
  .string()
  .transform((text) => {
    const [gameId, observerId, mode] = text.split('|');
    return { gameId, observerId, mode };
  })
  .pipe(z.object({ gameId: id, observerId: id, mode: z.enum(['in person', 'film']) }));
