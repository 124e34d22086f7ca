import { stat } from 'node:fs/promises';
import type { FastifyInstance } from 'fastify';
import { placeOfFilm } from '../../films/film-place.ts';
import { findFilm } from '../../films/film-store.ts';
import { framesOfFilm } from '../../films/frames-of-film.ts';
import { ofStrangers, runTool } from '../../films/looking/tool-process.ts';
import type { SourceFrames } from '../../timeline/shot-frames.ts';
import { Problem } from '../../web/problem.ts';
import { probeLimits } from './limits.ts';
import { ReelFailed, ReelWaits } from './trouble.ts';

/** A film as a reel is cut from it. */
export interface SourceFilm {
  readonly file: string;
  /** Tells its content from that of every other film, and of the same at another time. */
  readonly identity: string;
  readonly frames: SourceFrames;
  /** Width ÷ height as it is shown. */
  readonly aspect: number;
  readonly sound: boolean;
}

/** @throws ReelFailed, naming the plays, when the film is gone or cannot be read */
export async function sourceFilm(
  app: FastifyInstance,
  conferenceId: string,
  filmId: string,
  plays: string,
  signal: AbortSignal,
): Promise<SourceFilm> {
  const { rows } = await app.database.pool.query<{ gameId: string }>(
    `SELECT game_id AS "gameId" FROM film WHERE conference_id = $1 AND id = $2 AND state = 'ready'`,
    [conferenceId, filmId],
  );
  if (!rows[0])
    throw new ReelFailed(
      `The film of ${plays} was removed after this reel was asked for. Make the reel again: it then shows what there is.`,
    );
  const film = await findFilm(app.database.pool, conferenceId, rows[0].gameId, filmId);
  const file = await placeOfFilm(app, conferenceId, film);
  if (file === undefined)
    throw new ReelFailed(
      `The file of the film of ${plays} is no longer on the server. Bring the film again, then make the reel again.`,
    );
  const { size, mtimeMs } = await stat(file);
  const [shape, frames] = await Promise.all([
    readShape(file, signal),
    framesOfFilm(app, conferenceId, film).catch((error: unknown) => {
      if (error instanceof Problem && error.status === 503)
        throw new ReelWaits(`${error.message} It is tried again every five minutes.`);
      return undefined;
    }),
  ]);
  signal.throwIfAborted();
  if (!shape || !frames)
    throw new ReelFailed(
      `The film of ${plays} cannot be read any more. Bring it again, then make the reel again.`,
    );
  return { file, identity: `${filmId} ${size} ${mtimeMs}`, frames, ...shape };
}

/** How large its picture is shown, and whether it has sound; undefined where it cannot be read. */
export async function readShape(
  file: string,
  signal: AbortSignal,
): Promise<Pick<SourceFilm, 'aspect' | 'sound'> | undefined> {
  let said = '';
  await runTool(
    'ffprobe',
    ['-v', 'error', ...ofStrangers, '-show_streams', '-of', 'json', `file:${file}`],
    probeLimits,
    signal,
    (line) => {
      said += line;
    },
  );
  const { streams = [] } = parsed(said) as Probed;
  const picture = streams.find((one) => one.codec_type === 'video' && one.disposition?.attached_pic !== 1);
  return picture && { aspect: aspectOf(picture), sound: streams.some((one) => one.codec_type === 'audio') };
}

interface Probed {
  streams?: {
    codec_type?: string;
    width?: number;
    height?: number;
    sample_aspect_ratio?: string;
    disposition?: { attached_pic?: number };
    side_data_list?: { rotation?: number }[];
  }[];
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return {};
  }
}

function aspectOf({
  width = 1,
  height = 1,
  sample_aspect_ratio = '1:1',
  side_data_list = [],
}: NonNullable<Probed['streams']>[number]) {
  const [across = 1, down = 1] = sample_aspect_ratio.split(':').map(Number);
  const own = (width * (across > 0 && down > 0 ? across / down : 1)) / height;
  const turned = side_data_list.find(({ rotation }) => rotation !== undefined)?.rotation ?? 0;
  return Math.round(turned / 90) % 2 === 0 ? own : 1 / own;
}
