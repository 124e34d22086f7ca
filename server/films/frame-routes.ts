import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { timebaseSchema } from '../timeline/cut-schema.ts';
import { invalid } from '../web/problem.ts';
import { findFilm } from './film-store.ts';
import { framesOfFilm } from './frames-of-film.ts';
import { endOfFrames, frameFrom, tickAt } from './looking/film-frames.ts';

/** The longest stretch whose frames are given at once, seconds. */
const longest = 120;
const seconds = (field: string) => z.coerce.number(`${field} must be seconds of the film`).min(0).max(86_400);

/** When a film's frames are shown, so that a cut begins and ends with real ones. */
export async function frameRoutes(app: FastifyInstance): Promise<void> {
  app.withTypeProvider<ZodTypeProvider>().get(
    '/api/games/:gameId/films/:filmId/frames',
    {
      config: { policy: policies.filmOfGame },
      schema: {
        tags: ['films'],
        summary: 'When a film’s frames are shown, in a stretch of it',
        description: `Of ${longest} seconds at most, in ticks of the film’s timebase by a player’s clock, which is 0 where the file begins: ticks × numerator ÷ denominator are its seconds.`,
        params: z.object({ gameId: z.uuid(), filmId: z.uuid() }),
        querystring: z.object({ from: seconds('from').default(0), to: seconds('to') }),
        response: {
          200: z.object({
            timebase: timebaseSchema,
            frames: z.int().describe('Of the whole film.'),
            end: z.int().describe('Ticks at which its last frame is over.'),
            first: z.int().describe('Place of the first frame given, 0 the film’s first.'),
            ticks: z.array(z.int()).describe('Of each frame that is seen in the stretch.'),
          }),
        },
      },
    },
    async (request) => {
      const { from, to } = request.query;
      if (to <= from) throw invalid([{ field: 'to', message: 'must be later than from' }]);
      if (to - from > longest)
        throw invalid([{ field: 'to', message: `must be at most ${longest} seconds after from` }]);
      const { conferenceId } = sessionOf(request);
      const { gameId, filmId } = request.params;
      const film = await findFilm(app.database.pool, conferenceId, gameId, filmId);
      const frames = await framesOfFilm(app, conferenceId, film);
      const at = frameFrom(frames, tickAt(frames, from));
      // The one that is still seen at the begin.
      const first = Math.max(0, frames.ticks[at] === tickAt(frames, from) ? at : at - 1);
      return {
        timebase: frames.timebase,
        frames: frames.ticks.length,
        end: endOfFrames(frames),
        first,
        ticks: [...frames.ticks.subarray(first, frameFrom(frames, tickAt(frames, to)))],
      };
    },
  );
}
