import { copyFile, mkdir } from 'node:fs/promises';
import path from 'node:path';
import type pg from 'pg';
import { frame, type TaughtSeason } from '../programs/taught-season.ts';
import type { SignedInAgent } from '../support/signed-in.ts';
import { makeNumberedFilm } from './numbered-films.ts';

/** A numbered film of the season's game that can be watched, the first and the fifth play marked in it. @returns its id */
export async function filmOfGame(pool: pg.Pool, season: TaughtSeason, data: string): Promise<string> {
  const { conferenceId, gameId, coordinatorId } = season;
  const facts = { seconds: 15.015, width: 640, height: 360, rate: 29.97, variable: false, rotated: 0 };
  const { rows } = await pool.query<{ id: string }>(
    `INSERT INTO film (conference_id, game_id, angle, source, file_name, state, bytes, facts, made_by)
     VALUES ($1, $2, 'Sideline', 'upload', 'wide.mp4', 'ready', 1000, $3, $4) RETURNING id`,
    [
      ...[conferenceId, gameId],
      JSON.stringify({ ...facts, sound: true, picture: 'h264', form: 'mp4' }),
      coordinatorId,
    ],
  );
  const { id } = rows[0]!;
  const made = path.join(data, 'numbered.mp4');
  await makeNumberedFilm(made);
  await mkdir(path.join(data, 'films', conferenceId), { recursive: true });
  await copyFile(made, path.join(data, 'films', conferenceId, id));
  for (const [play, seconds] of [
    [0, 3],
    [4, 9],
  ] as const)
    await pool.query(
      `INSERT INTO film_mark (conference_id, film_id, play_id, seconds, made_by) VALUES ($1, $2, $3, $4, $5)`,
      [conferenceId, id, season.playIds[play], seconds, coordinatorId],
    );
  await pool.query('UPDATE play SET film_seconds = NULL WHERE conference_id = $1', [conferenceId]);
  return id;
}

/**
 * A program of three plays released as edition 1: the first with a question, the third nowhere in the film.
 * @returns its id
 */
export async function filmedProgram(coordinator: SignedInAgent, season: TaughtSeason): Promise<string> {
  const { body: program } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send(frame)
    .expect(201);
  const address = `/api/training-programs/${program.id}`;
  for (const [play, position, question] of [
    [0, 'umpire', 'What is expected here?'],
    [4, 'umpire', ''],
    [5, 'line judge', ''],
  ] as const)
    await putIn(coordinator, address, { playId: season.playIds[play]!, position, question });
  const { body } = await coordinator.get(address).expect(200);
  await coordinator
    .post(`${address}/editions`)
    .send({ version: body.version, untoldBecause: 'They were told by telephone.' })
    .expect(201);
  return program.id;
}

async function putIn(
  coordinator: SignedInAgent,
  address: string,
  { playId, position, question }: { playId: string; position: string; question: string },
): Promise<void> {
  const { body } = await coordinator
    .post(`${address}/plays`)
    .send({ playId, dutyKey: 'everybodys-duty', position, showing: 'good' })
    .expect(201);
  const { playId: _, version, ...card } = body.plays.at(-1);
  const choices = [
    { text: 'Keep watching', right: true },
    { text: 'Look away', right: false },
  ];
  await coordinator
    .put(`${address}/plays/${playId}`)
    .send({
      card: {
        ...{ ...card, topic: 'Eyes', answer: 'Keep watching.', secondsBefore: 1, secondsAfter: 2 },
        ...{ narration: 'Watch the players.', question, choices: question ? choices : [] },
      },
      version,
    })
    .expect(200);
}
