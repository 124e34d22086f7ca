import { mkdir, rename, rm, stat, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { addFilm, listFilms, noteArrived } from '../server/films/film-store.ts';
import { hasFfmpeg, runTool } from '../server/films/looking/tool-process.ts';
import { markPlay } from '../server/films/marks-store.ts';
import { pointOf } from '../server/football/drawing/ball-marks.ts';
import { drawPlay } from '../server/football/drawing/play-drawing.ts';
import { playInWords } from '../server/football/play-in-words.ts';
import { readEdition } from '../server/programs/stores/edition-store.ts';
import { drawPng } from '../server/reels/cards/draw-png.ts';
import { readPlayDuties } from '../server/reports/plays/play-duties.ts';
import { demoSlug } from './load.ts';
import { placesOnPicture, playPicture } from './play-picture.ts';

/** What the film is called: nobody is to take it for one that a camera made. */
const angle = 'Invented (drawn, plays of the training program only)';
const secondsBefore = 8;
const secondsOfPlay = 22;
/** How long the ball is on its way. */
const secondsOfWay = 4;

/**
 * Draws films for the demo's training program: of each of its games one that shows the program's plays one after the other,
 * as diagrams with a running clock and a tone at the snap. Nothing where ffmpeg is missing; a game that ever had a film is
 * left alone.
 */
export async function inventFilms(app: FastifyInstance, signal: AbortSignal): Promise<void> {
  if (!(await hasFfmpeg())) return;
  const { pool } = app.database;
  const { rows } = await pool.query<{ conferenceId: string; programId: string; personId: string }>(
    `SELECT e.conference_id AS "conferenceId", e.program_id AS "programId", e.released_by AS "personId"
       FROM training_edition e JOIN conference c ON c.id = e.conference_id AND c.slug = $1
      WHERE e.number = 1 AND e.released_by IS NOT NULL LIMIT 1`,
    [demoSlug],
  );
  if (!rows[0]) return;
  const { conferenceId, programId, personId } = rows[0];
  const { sources } = await readEdition(pool, conferenceId, programId, 1);
  for (const gameId of new Set(sources.map((source) => source.gameId))) {
    if (signal.aborted) return;
    if (await hadFilm(app, conferenceId, gameId)) continue;
    const playIds = sources.filter((source) => source.gameId === gameId).map(({ playId }) => playId);
    await filmOfGame(app, { conferenceId, personId }, gameId, playIds, signal);
  }
}

async function hadFilm({ database: { pool } }: FastifyInstance, conferenceId: string, gameId: string) {
  const { rowCount } = await pool.query(
    `SELECT FROM audit_entry WHERE conference_id = $1 AND subject_kind = 'film' AND action = 'added a film'
        AND after ->> 'gameId' = $2 LIMIT 1`,
    [conferenceId, gameId],
  );
  return rowCount !== 0 || (await listFilms(pool, conferenceId, gameId)).length > 0;
}

async function filmOfGame(
  app: FastifyInstance,
  acting: { conferenceId: string; personId: string },
  gameId: string,
  playIds: readonly string[],
  signal: AbortSignal,
): Promise<void> {
  const { files } = app.films;
  await files.prepare(acting.conferenceId);
  const work = path.join(path.dirname(files.came(acting.conferenceId, gameId)), `invented-${gameId}`);
  await mkdir(work, { recursive: true });
  try {
    const made = path.join(work, 'film.mp4');
    const bytes = await drawFilm(app, acting.conferenceId, gameId, playIds, work, made, signal);
    if (bytes === 0) return;
    const film = await addFilm(app.database.pool, acting, gameId, {
      ...{ angle, source: 'upload', place: null, fileName: 'invented.mp4', bytes },
    });
    await rename(made, files.came(acting.conferenceId, film.id));
    for (const [at, playId] of playIds.entries())
      await markPlay(
        app.database.pool,
        acting,
        { gameId, filmId: film.id, playId },
        at * secondsOfPlay + secondsBefore,
      );
    await noteArrived(app.database.pool, acting.conferenceId, film.id);
    app.films.wake();
  } finally {
    await rm(work, { recursive: true, force: true });
  }
}

const require = createRequire(import.meta.url);
const font = require.resolve('@expo-google-fonts/source-sans-3/600SemiBold/SourceSans3_600SemiBold.ttf');

/** @returns its bytes; 0 when it could not be drawn */
async function drawFilm(
  app: FastifyInstance,
  conferenceId: string,
  gameId: string,
  playIds: readonly string[],
  work: string,
  to: string,
  signal: AbortSignal,
): Promise<number> {
  const inputs: string[] = [];
  const graphs: string[] = [];
  const ball = path.join(work, 'ball.png');
  await writeFile(
    ball,
    await drawPng(
      '<svg xmlns="http://www.w3.org/2000/svg" width="26" height="26"><circle cx="13" cy="13" r="10" fill="#8a4b1f" stroke="#fff" stroke-width="4"/></svg>',
    ),
  );
  for (const [at, playId] of playIds.entries()) {
    const { play, field, code, owed } = await readPlayDuties(app.database, conferenceId, gameId, playId);
    const drawing = drawPlay(play, field, code, new Set(owed.map(({ position }) => position)));
    const picture = path.join(work, `play-${at}.png`);
    await writeFile(picture, await drawPng(playPicture(drawing, playInWords(play))));
    const snap = placesOnPicture(drawing, { x: 80 / 3, y: drawing.lineOfScrimmage });
    const last = drawing.marks.map(pointOf).findLast((point) => point !== undefined);
    const end = last ? placesOnPicture(drawing, last) : snap;
    inputs.push('-loop', '1', '-framerate', '30000/1001', '-t', String(secondsOfPlay), '-i', picture);
    inputs.push('-i', ball);
    const way = `min(1\\,max(0\\,(t-${secondsBefore})/${secondsOfWay}))`;
    const along = (from: number, until: number) => `'${from - 13}+(${until - from})*${way}'`;
    graphs.push(
      `[${2 * at}:v][${2 * at + 1}:v]overlay=x=${along(snap.x, end.x)}:y=${along(snap.y, end.y)}:eof_action=repeat,drawtext=fontfile=${font}:text='%{pts\\:hms}':x=w-tw-24:y=20:fontsize=34:fontcolor=white,trim=duration=${secondsOfPlay},setpts=PTS-STARTPTS[p${at}]`,
    );
  }
  const seconds = playIds.length * secondsOfPlay;
  const beep = `aevalsrc='0.3*sin(2*PI*880*t)*between(mod(t,${secondsOfPlay}),${secondsBefore},${secondsBefore}+0.15)':s=48000:d=${seconds}[a]`;
  const joined = `${playIds.map((_, at) => `[p${at}]`).join('')}concat=n=${playIds.length}:v=1:a=0,format=yuv420p[v]`;
  const { code } = await runTool(
    'ffmpeg',
    [
      ...['-nostdin', '-v', 'error', '-y', ...inputs, '-filter_complex', [...graphs, joined, beep].join(';')],
      ...['-map', '[v]', '-map', '[a]', '-c:v', 'libx264', '-preset', 'ultrafast', '-tune', 'stillimage'],
      ...['-crf', '28', '-g', '60', '-c:a', 'aac', '-b:a', '64k', '-movflags', '+faststart', to],
    ],
    { cpuSeconds: 600, seconds: 1800, fileBytes: 200e6, niceness: 15 },
    signal,
    () => {},
  );
  if (code !== 0) return 0;
  return (await stat(to)).size;
}
