import { stat } from 'node:fs/promises';
import type { FastifyInstance } from 'fastify';
import { placeOfFilm } from '../../films/film-place.ts';
import { findFilm } from '../../films/film-store.ts';
import { ofStrangers } from '../../films/looking/probe.ts';
import { runTool } from '../../films/looking/tool-process.ts';
import type { SourceFrames } from '../../timeline/shot-frames.ts';
import { probeLimits } from './limits.ts';
import { ReelFailed } from './trouble.ts';

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
  const read = await readSource(file, signal);
  if (read === undefined)
    throw new ReelFailed(
      `The film of ${plays} cannot be read any more. Bring it again, then make the reel again.`,
    );
  return { file, identity: `${filmId} ${size} ${mtimeMs}`, ...read };
}

/** When its frames are shown and how large; undefined where it cannot be read. */
export async function readSource(
  file: string,
  signal: AbortSignal,
): Promise<Omit<SourceFilm, 'file' | 'identity'> | undefined> {
  const streams = await lines(file, ['-show_streams', '-show_format', '-of', 'json'], signal);
  const { streams: all = [], format } = parsed(streams.join('')) as Probed;
  const picture = all.find((one) => one.codec_type === 'video' && one.disposition?.attached_pic !== 1);
  const [numerator = 0, denominator = 0] = (picture?.time_base ?? '').split('/').map(Number);
  if (!picture || !(numerator > 0 && denominator > 0)) return undefined;
  const packets = await lines(
    file,
    ['-select_streams', 'V:0', '-show_entries', 'packet=pts,flags', '-of', 'csv=p=0'],
    signal,
  );
  // By a player's clock, which is 0 where the file begins.
  const begin = Math.round((Number(format?.start_time ?? 0) * denominator) / numerator);
  const ticks = packets.flatMap((line) => {
    const [pts = '', flags = ''] = line.split(',');
    const at = Number.parseInt(pts, 10);
    // What an edit list leaves out is not shown.
    return Number.isFinite(at) && !flags.includes('D') ? [at - begin] : [];
  });
  if (ticks.length === 0) return undefined;
  return {
    frames: { ticks: Float64Array.from(ticks).sort(), timebase: { numerator, denominator } },
    aspect: aspectOf(picture),
    sound: all.some((one) => one.codec_type === 'audio'),
  };
}

interface Probed {
  streams?: {
    codec_type?: string;
    time_base?: string;
    width?: number;
    height?: number;
    sample_aspect_ratio?: string;
    disposition?: { attached_pic?: number };
    side_data_list?: { rotation?: number }[];
  }[];
  format?: { start_time?: string };
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

async function lines(file: string, asked: readonly string[], signal: AbortSignal): Promise<string[]> {
  const found: string[] = [];
  await runTool(
    'ffprobe',
    ['-v', 'error', ...ofStrangers, ...asked, `file:${file}`],
    probeLimits,
    signal,
    (line) => found.push(line),
  );
  return found;
}
