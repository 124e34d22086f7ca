import { readFile } from 'node:fs/promises';
import type { FastifyInstance } from 'fastify';
import type { SignedInAgent } from '../support/signed-in.ts';

/** Uploads a film by the tus protocol's own requests, waits until it was looked at, and gives it as the API has it. */
export async function bringFilm(
  app: FastifyInstance,
  agent: SignedInAgent,
  gameId: string,
  file: string,
  angle: string,
) {
  const bytes = await readFile(file);
  const named = (text: string) => Buffer.from(text).toString('base64');
  const begun = await agent
    .post(`/api/games/${gameId}/films/uploads`)
    .set({
      'tus-resumable': '1.0.0',
      'upload-length': String(bytes.length),
      'upload-metadata': `angle ${named(angle)},filename ${named('film.mp4')}`,
    })
    .expect(201);
  await agent
    .patch(begun.headers.location!)
    .set({
      'tus-resumable': '1.0.0',
      'upload-offset': '0',
      'content-type': 'application/offset+octet-stream',
    })
    .send(bytes)
    .expect(204);
  await app.films.idle();
  const films = (await agent.get(`/api/games/${gameId}/films`).expect(200)).body as {
    id: string;
    angle: string;
    state: string;
    address: string;
  }[];
  return films.find((film) => film.angle === angle)!;
}
