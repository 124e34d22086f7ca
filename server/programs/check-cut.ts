import type { FastifyInstance } from 'fastify';
import { type Film, listFilms } from '../films/film-store.ts';
import { framesOfFilm } from '../films/frames-of-film.ts';
import { endOfFrames, type FilmFrames, frameFrom } from '../films/looking/film-frames.ts';
import { type Cut, type Shot, secondsOfTicks } from '../timeline/cut.ts';
import { secondsOfCut } from '../timeline/cut-length.ts';
import { type FieldProblem, invalid } from '../web/problem.ts';

/** The longest that a play may run, slow repeats and freezes counted, seconds. */
const longestClip = 600;

/**
 * Holds a cut against the films of its play's game: each begins and ends with a real frame of one of them.
 * @throws Problem 400 naming each field
 */
export async function checkCut(
  app: FastifyInstance,
  conferenceId: string,
  gameId: string,
  cut: Cut,
): Promise<void> {
  const { pool } = app.database;
  const films = await listFilms(pool, conferenceId, gameId);
  const wrong: FieldProblem[] = [];
  // A repeat is of the same film, and hours of frames are large.
  const framesBy = new Map<string, FilmFrames>();
  for (const [at, shot] of cut.shots.entries()) {
    const of = (field: string, message: string) => ({ field: `cut.shots.${at}.${field}`, message });
    const film = films.find(({ id }) => id === shot.filmId);
    const unusable = film ? whyNot(film) : await strange(app, conferenceId, shot.filmId);
    if (unusable !== null || !film) wrong.push(of('filmId', unusable ?? strangeFilm));
    else {
      const frames = framesBy.get(film.id) ?? (await framesOfFilm(app, conferenceId, film));
      framesBy.set(film.id, frames);
      wrong.push(...shotProblems(shot, frames).map((one) => of(one.field, one.message)));
    }
  }
  const seconds = secondsOfCut(cut);
  if (seconds > longestClip)
    wrong.push({
      field: 'cut.shots',
      message: `run ${Math.round(seconds)} seconds in all; a play may run ${longestClip} at most`,
    });
  if (wrong.length > 0) throw invalid(wrong);
}

const strangeFilm =
  'names no film of the play’s game: it was removed, or never there. Choose another film for this shot, or take the shot out.';

async function strange(
  { database: { pool } }: FastifyInstance,
  conferenceId: string,
  filmId: string,
): Promise<string> {
  const { rowCount } = await pool.query('SELECT FROM film WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    filmId,
  ]);
  return rowCount ? 'is a film of another game; choose one of the play’s own game.' : strangeFilm;
}

function whyNot({ source, state }: Film): string | null {
  if (source === 'link')
    return 'is only a link: it can be watched, not cut. Upload the film’s file, or put it into the server’s folder.';
  return state === 'ready' ? null : 'is not ready to be cut yet; wait until it can be watched.';
}

/** What of a shot does not fit the film's frames. */
function shotProblems(shot: Shot, frames: FilmFrames): FieldProblem[] {
  const { numerator, denominator } = frames.timebase;
  if (shot.timebase.numerator * denominator !== shot.timebase.denominator * numerator)
    return [{ field: 'timebase', message: `must be the film’s own, ${numerator}/${denominator}` }];
  const end = endOfFrames(frames);
  const beyond = `lies beyond the film, which ends at ${secondsOfTicks(end, frames.timebase).toFixed(3)} seconds (${end} ticks)`;
  const problem = (field: string, tick: number, mayBeEnd: boolean): FieldProblem[] => {
    if (tick > end || (tick === end && !mayBeEnd)) return [{ field, message: beyond }];
    const at = frameFrom(frames, tick);
    if (frames.ticks[at] === tick || (tick === end && mayBeEnd)) return [];
    const near = [frames.ticks[at - 1], frames.ticks[at] ?? end].filter((one) => one !== undefined);
    return [{ field, message: `is no frame of the film; the nearest are at ${near.join(' and ')} ticks` }];
  };
  return [
    ...problem('from', shot.from, false),
    ...problem('to', shot.to, true),
    ...shot.freezes.flatMap(({ at }, place) => problem(`freezes.${place}.at`, at, false)),
  ];
}
