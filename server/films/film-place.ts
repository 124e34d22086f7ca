import type { FastifyInstance } from 'fastify';
import { slugOf } from '../accounts/conference-slug.ts';
import { bytesOf } from './film-files.ts';
import type { Film } from './film-store.ts';
import { placeOfOffered } from './offered-files.ts';

/** The file that is watched; undefined where there is none on this server: a link, or one that is gone. */
export async function placeOfFilm(
  { database, settings, films: { files } }: FastifyInstance,
  conferenceId: string,
  film: Film,
): Promise<string | undefined> {
  if (film.source === 'link') return undefined;
  const file = film.isMade
    ? files.made(conferenceId, film.id)
    : film.source === 'upload'
      ? files.came(conferenceId, film.id)
      : await placeOfOffered(settings.FILM_DIR, await slugOf(database, conferenceId), film.place!);
  return file !== undefined && (await bytesOf(file)) > 0 ? file : undefined;
}

export const fileGone =
  'The film’s file is no longer on the server. A backup does not hold films: whoever runs the server copies them back, or a coordinator removes this one and brings it again.';
