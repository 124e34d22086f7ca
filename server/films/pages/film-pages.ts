import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { slugOf } from '../../accounts/conference-slug.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { readGameHead } from '../../games/game-head.ts';
import { firstPlayOf } from '../../games/play-log.ts';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { bringFilm } from '../bring-film.ts';
import { dependentsOf } from '../film-dependents.ts';
import { angleName, filmLink } from '../film-input.ts';
import { fileGone, placeOfFilm } from '../film-place.ts';
import { readFilmSetting } from '../film-setting.ts';
import { findFilm, listFilms, removeFilm, renameFilm, spaceTaken } from '../film-store.ts';
import { hasFfmpeg, noFfmpeg } from '../looking/tool-process.ts';
import { readMarks } from '../marks-store.ts';
import { offeredFiles } from '../offered-files.ts';
import { daysToArrive } from '../tidying.ts';
import { bytesInWords, filmView } from './film-view.ts';

const ofGame = z.object({ gameId: z.uuid() });
const ofFilm = ofGame.extend({ filmId: z.uuid() });

/** A game's films: brought by upload, from the server's folder or by a link; named, placed and removed. */
export async function filmPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const { files } = app.films;
  const config = { policy: policies.coordinator };
  const forGame = { config, schema: { hide: true, params: ofGame } } as const;
  const forFilm = { config, schema: { hide: true, params: ofFilm } } as const;

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    gameId: string,
    { errors = {}, values = {} }: { errors?: FormErrors; values?: Form } = {},
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const game = await readGameHead(pool, conferenceId, gameId);
    const films = await listFilms(pool, conferenceId, gameId);
    const marks = await readMarks(pool, conferenceId, gameId);
    const slug = await slugOf(app.database, conferenceId);
    const { largest, space } = await readFilmSetting(pool, conferenceId);
    const offered = await offeredFiles(app.settings.FILM_DIR, slug);
    const first = await firstPlayOf(app.database, conferenceId, gameId);
    return reply.page(
      'films/films',
      {
        game,
        films: await Promise.all(
          films.map(async (film) => ({
            ...filmView(film, marks.get(film.id) ?? [], await files.arrived(conferenceId, film.id)),
            isGone:
              film.state === 'ready' &&
              film.source !== 'link' &&
              (await placeOfFilm(app, conferenceId, film)) === undefined,
            wrongName: errors[`name-${film.id}`],
          })),
        ),
        firstPlay: first,
        anyUnderway: films.some(({ state }) => state === 'waiting'),
        noFfmpeg: (await hasFfmpeg()) ? null : noFfmpeg,
        hasFolder: app.settings.FILM_DIR !== undefined,
        slug,
        offered: offered.map(({ name, bytes }) => ({
          ...{ name, size: bytesInWords(bytes), isChosen: name === textOf(values.file) },
        })),
        taken: bytesInWords(await spaceTaken(pool, conferenceId)),
        space: bytesInWords(space * 1e6),
        largest: bytesInWords(largest * 1e6),
        largestBytes: largest * 1e6,
        ...{ errors, values, daysToArrive, fileGone, zone: timeZone },
        notice: done[textOf(formOf(request.query).done)],
      },
      { title: `Film: ${game.title}`, scripts: ['film-upload'] },
    );
  }

  pages.get('/games/:gameId/films', forGame, (request, reply) => show(request, reply, request.params.gameId));

  pages.post('/games/:gameId/films', forGame, async (request, reply) => {
    const { gameId } = request.params;
    const form = formOf(request.body);
    const by = form.link === undefined ? 'file' : 'link';
    const typed = z
      .object(
        by === 'link'
          ? { angle: angleName, link: filmLink }
          : { angle: angleName, file: z.string().max(1000) },
      )
      .safeParse({ angle: textOf(form[`${by}Angle`]), [by]: textOf(form[by]) });
    const again = ({ angle, ...errors }: FormErrors) =>
      show(request, reply.code(400), gameId, {
        errors: { ...errors, ...(angle && { [`${by}Angle`]: angle }) },
        values: form,
      });
    if (!typed.success) return again(errorsOf(typed.error));
    try {
      await bringFilm(app, sessionOf(request), gameId, typed.data as { angle: string });
    } catch (error) {
      return again(fieldErrors(error));
    }
    return reply.redirect(`/games/${gameId}/films?done=${by}`, 303);
  });

  pages.post('/games/:gameId/films/:filmId/name', forFilm, async (request, reply) => {
    const { gameId, filmId } = request.params;
    const typed = z.object({ angle: angleName }).safeParse({ angle: textOf(formOf(request.body).angle) });
    const again = (errors: FormErrors) =>
      show(request, reply.code(400), gameId, { errors: { [`name-${filmId}`]: errors.angle! } });
    if (!typed.success) return again(errorsOf(typed.error));
    try {
      await renameFilm(pool, sessionOf(request), gameId, filmId, typed.data.angle);
    } catch (error) {
      return again(fieldErrors(error));
    }
    return reply.redirect(`/games/${gameId}/films?done=name`, 303);
  });

  pages.get('/games/:gameId/films/:filmId/remove', forFilm, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const { gameId, filmId } = request.params;
    const film = await findFilm(pool, conferenceId, gameId, filmId);
    return reply.page(
      'films/remove',
      {
        game: await readGameHead(pool, conferenceId, gameId),
        film: {
          ...film,
          size: film.kept > 0 ? bytesInWords(film.kept) : null,
          isLink: film.source === 'link',
        },
        isOfFolder: film.source === 'folder',
        isReady: film.state === 'ready',
        dependents: await dependentsOf(pool, conferenceId, film),
      },
      { title: `Remove ${film.angle}?` },
    );
  });

  pages.post('/games/:gameId/films/:filmId/remove', forFilm, async (request, reply) => {
    const session = sessionOf(request);
    const { gameId, filmId } = request.params;
    await removeFilm(pool, session, gameId, filmId);
    await files.remove(session.conferenceId, filmId);
    return reply.redirect(`/games/${gameId}/films?done=removed`, 303);
  });
}

const done: Record<string, string> = {
  upload: 'All of it is here. It is looked at now, and can be watched when that is done.',
  link: 'Added: it is played from where it lies.',
  file: 'Added. It is looked at now, and can be watched when that is done.',
  name: 'Kept.',
  removed: 'Removed, with its marks.',
};
