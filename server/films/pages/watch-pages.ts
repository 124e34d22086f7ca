import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { readGameHead } from '../../games/game-head.ts';
import { playOf } from '../../games/play-rows.ts';
import { formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { filmNotes } from '../film-facts.ts';
import { type Film, findFilm, listFilms } from '../film-store.ts';
import { filmTimeInWords, readFilmTime } from '../film-time.ts';
import { markPlay, playsToWatch, readMarks } from '../marks-store.ts';
import { placePlays } from '../placing.ts';
import { checkMarks } from '../placing-words.ts';

const ofPlay = z.object({ gameId: z.uuid(), playId: z.uuid() });

/** A play on film, beside its facts; the coordinator marks where its snap is. */
export async function watchPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  pages.get(
    '/games/:gameId/plays/:playId/film',
    {
      config: { policy: policies.filmOfGame },
      schema: {
        hide: true,
        params: ofPlay,
        querystring: z.object({
          film: z.uuid().optional(),
          wrong: z.literal('time').optional(),
          done: z.literal('marked').optional(),
        }),
      },
    },
    async (request, reply) => {
      const { conferenceId, roles } = sessionOf(request);
      const { gameId, playId } = request.params;
      const game = await readGameHead(pool, conferenceId, gameId);
      const rows = await playsToWatch(pool, conferenceId, gameId);
      const here = rows.findIndex((row) => row.playId === playId);
      const row = rows[here];
      if (!row) throw notFound('play');
      const films = (await listFilms(pool, conferenceId, gameId)).filter(({ state }) => state === 'ready');
      const film = films.find(({ id }) => id === request.query.film) ?? films[0];
      const marks = film ? ((await readMarks(pool, conferenceId, gameId)).get(film.id) ?? []) : [];
      const places = placePlays(marks, rows);
      const placed = places.get(playId);
      const play = playOf(row);
      const isCoordinator = roles.has('coordinator');
      return reply.page(
        'films/watch',
        {
          ...{ game, playId, number: row.number, isCoordinator },
          inWords: playInWords(play),
          facts: loggedFacts(play),
          film: film && {
            ...film,
            address: addressOf(film),
            notes: film.facts ? filmNotes(film.facts) : [],
            isLink: film.source === 'link',
          },
          angles: films.map(({ id, angle }) => ({ id, angle, isHere: id === film?.id })),
          ...{ seconds: placed?.seconds ?? 0, isPlaced: placed !== undefined },
          frame: film?.facts ? 1 / film.facts.rate : 1 / 30,
          timecode: filmTimeInWords(placed?.seconds ?? 0),
          isMarked: placed?.by === 'mark',
          isNear: placed?.by === 'near',
          isAsLogged: placed?.by === 'log',
          check: checkMarks(marks),
          marked: marks.map((mark) => ({ ...mark, isHere: mark.playId === playId })),
          wrong: request.query.wrong,
          notice: request.query.done,
          before: rows[here - 1],
          after: rows[here + 1],
        },
        { title: `Film: play ${row.number}`, scripts: ['film-player'], width: 'wide' },
      );
    },
  );

  pages.post(
    '/games/:gameId/plays/:playId/film/:filmId/mark',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: ofPlay.extend({ filmId: z.uuid() }) },
    },
    async (request, reply) => {
      const { gameId, playId, filmId } = request.params;
      await findFilm(pool, sessionOf(request).conferenceId, gameId, filmId);
      const form = formOf(request.body);
      const seconds = textOf(form.take) === 'away' ? null : readFilmTime(textOf(form.time));
      const back = `/games/${gameId}/plays/${playId}/film?film=${filmId}`;
      if (seconds === undefined) return reply.redirect(`${back}&wrong=time`, 303);
      await markPlay(pool, sessionOf(request), request.params, seconds);
      return reply.redirect(`${back}&done=marked`, 303);
    },
  );
}

const addressOf = ({ source, place, gameId, id }: Film): string =>
  source === 'link' ? place! : `/games/${gameId}/films/${id}/file`;
