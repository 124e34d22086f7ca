import type { FastifyInstance } from 'fastify';
import type { PersonActing } from '../accounts/acting.ts';
import { slugOf } from '../accounts/conference-slug.ts';
import { invalid } from '../web/problem.ts';
import { addFilm, type Film } from './film-store.ts';
import { offeredFiles } from './offered-files.ts';

/**
 * Adds a film that lies elsewhere: by a link, or one that the server's folder offers.
 * @throws Problem 400 where neither or both are given, or the file is not offered; as `addFilm`
 */
export async function bringFilm(
  { database, settings, films }: FastifyInstance,
  actor: PersonActing,
  gameId: string,
  { angle, link, file }: { angle: string; link?: string | undefined; file?: string | undefined },
): Promise<Film> {
  if ((link === undefined) === (file === undefined))
    throw invalid([{ field: 'link', message: 'is needed, or a file of the server’s folder; not both' }]);
  if (link !== undefined) {
    const place = new URL(link).href;
    return addFilm(database.pool, actor, gameId, {
      ...{ angle, source: 'link', place, fileName: '', bytes: 0 },
    });
  }
  const slug = await slugOf(database, actor.conferenceId);
  const offered = (await offeredFiles(settings.FILM_DIR, slug)).find(({ name }) => name === file);
  if (!offered)
    throw invalid([
      { field: 'file', message: 'is not in the server’s folder (any more); choose one of the list' },
    ]);
  const added = await addFilm(database.pool, actor, gameId, {
    ...{ angle, source: 'folder', place: offered.name, fileName: '', bytes: offered.bytes },
  });
  films.wake();
  return added;
}
