import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { bringFilm } from './bring-film.ts';
import { dependentsOf } from './film-dependents.ts';
import { filmFacts, filmNotes } from './film-facts.ts';
import { angleName, filmLink, filmSecondsInput } from './film-input.ts';
import { filmSetting, keepFilmSetting, readFilmSetting } from './film-setting.ts';
import {
  type Film,
  filmSources,
  filmStates,
  findFilm,
  listFilms,
  removeFilm,
  renameFilm,
} from './film-store.ts';
import { markPlay, placesInFilm, readMarks } from './marks-store.ts';
import { checkMarks } from './placing-words.ts';

const ofGame = z.object({ gameId: z.uuid() });
const ofFilm = ofGame.extend({ filmId: z.uuid() });
const ofPlay = ofFilm.extend({ playId: z.uuid() });

const film = z.object({
  id: z.uuid(),
  angle: z.string(),
  source: z.enum(filmSources),
  state: z
    .enum(filmStates)
    .describe(
      'arriving: not all of it is here; waiting: to be looked at; ready: can be watched; refused: see `refused`.',
    ),
  address: z
    .string()
    .nullable()
    .describe('Where its file is, with byte ranges (RFC 9110, section 14); null while it cannot be watched.'),
  bytes: z.number().describe('Of the file as it came.'),
  arrived: z.number().describe('Of these, how many are here.'),
  kept: z.number().describe('What it takes of the conference’s space.'),
  progress: z.number().describe('Of looking at it, 0 to 1.'),
  facts: filmFacts.nullable(),
  notes: z.array(z.string()).describe('What whoever watches should know of it.'),
  refused: z.string().nullable().describe('Why it cannot be used.'),
  trouble: z.string().nullable().describe('Why looking at it has to wait.'),
  marks: z.int().describe('How many plays are marked in it.'),
  madeBy: z.string(),
  madeAt: z.date(),
});

const place = z.object({
  playId: z.uuid(),
  seconds: z.number(),
  by: z
    .enum(['mark', 'marks', 'log', 'near'])
    .describe(
      'mark: it was marked; marks: worked out from marked plays; log: as logged; near: of the last play before it with a time.',
    ),
});
const placed = z.object({
  tone: z.enum(['good', 'warn', 'bad', '']),
  sentences: z.array(z.string()).describe('What the marks tell, held against the log’s own times.'),
  plays: z
    .array(place)
    .describe('Where plays are in the film; those of which nothing is known are left out.'),
});

/** Films of games, where plays are in them, and who may see them. */
export async function filmRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const { files } = app.films;
  const forCoordinator = { policy: policies.coordinator };
  const tags = ['films'];
  const path = '/api/games/:gameId/films';

  const described = async (conferenceId: string, one: Film) => ({
    ...one,
    address:
      one.state !== 'ready'
        ? null
        : one.source === 'link'
          ? one.place
          : `/games/${one.gameId}/films/${one.id}/file`,
    arrived: one.state === 'arriving' ? await files.arrived(conferenceId, one.id) : one.bytes,
    notes: one.facts ? filmNotes(one.facts) : [],
  });

  routes.get(
    path,
    {
      config: { policy: policies.filmOfGame },
      schema: {
        ...{ tags, summary: 'The films of a game', params: ofGame },
        response: { 200: z.array(film) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const films = await listFilms(pool, conferenceId, request.params.gameId);
      return Promise.all(films.map((one) => described(conferenceId, one)));
    },
  );

  routes.post(
    path,
    {
      config: forCoordinator,
      schema: {
        tags,
        summary: 'Add a film by a link, or of the server’s folder',
        description:
          'A film of one’s own disk is uploaded to `/api/games/{gameId}/films/uploads` by the tus protocol 1.0.0, with `angle` and `filename` in Upload-Metadata: an upload that breaks off goes on where it was.',
        params: ofGame,
        body: z.object({
          angle: angleName,
          link: filmLink.optional(),
          file: z.string().max(1000).optional().describe('One of those that the server’s folder offers.'),
        }),
        response: { 201: film },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const added = await bringFilm(app, session, request.params.gameId, request.body);
      return reply.code(201).send(await described(session.conferenceId, added));
    },
  );

  routes.patch(
    `${path}/:filmId`,
    {
      config: forCoordinator,
      schema: {
        ...{
          tags,
          summary: 'Give a film’s angle another name',
          params: ofFilm,
          body: z.object({ angle: angleName }),
        },
        response: { 200: film },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { gameId, filmId } = request.params;
      return described(
        session.conferenceId,
        await renameFilm(pool, session, gameId, filmId, request.body.angle),
      );
    },
  );

  routes.get(
    `${path}/:filmId/dependents`,
    {
      config: forCoordinator,
      schema: {
        ...{ tags, summary: 'What goes with a film when it is removed', params: ofFilm },
        response: {
          200: z.object({
            plays: z.array(z.int()).describe('Numbers of the plays that are marked in it.'),
            isOnlyOne: z.boolean().describe('The game has no other film to be watched.'),
            logged: z.int().describe('How many plays the game’s log has.'),
            programs: z
              .array(
                z.object({
                  id: z.uuid(),
                  title: z.string(),
                  clips: z.array(z.int()).describe('Places of the plays that were cut from it by hand.'),
                  uncut: z
                    .array(z.int())
                    .describe(
                      'Places of the game’s plays that nobody cut yet: shown from what film there is.',
                    ),
                  editions: z.array(z.int()).describe('Those released with a clip of it.'),
                  reels: z.int().describe('Finished reels that show it; they stay.'),
                }),
              )
              .describe('Training programs with plays of this film.'),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { gameId, filmId } = request.params;
      return dependentsOf(pool, conferenceId, await findFilm(pool, conferenceId, gameId, filmId));
    },
  );

  routes.delete(
    `${path}/:filmId`,
    {
      config: forCoordinator,
      schema: {
        ...{ tags, summary: 'Remove a film, with its file and its marks', params: ofFilm },
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { gameId, filmId } = request.params;
      await removeFilm(pool, session, gameId, filmId);
      await files.remove(session.conferenceId, filmId);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    `${path}/:filmId/plays`,
    {
      config: { policy: policies.filmOfGame },
      schema: {
        ...{ tags, summary: 'Where plays are in a film', params: ofFilm },
        response: { 200: placed },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { gameId, filmId } = request.params;
      await findFilm(pool, conferenceId, gameId, filmId);
      const marks = (await readMarks(pool, conferenceId, gameId)).get(filmId) ?? [];
      const places = await placesInFilm(pool, conferenceId, gameId, filmId);
      const { tone, sentences } = checkMarks(marks);
      return {
        ...{ tone, sentences: [...sentences] },
        plays: [...places].map(([playId, at]) => ({ playId, ...at })),
      };
    },
  );

  const ofMark = {
    config: forCoordinator,
    schema: { tags, params: ofPlay, response: { 204: z.null() } },
  };
  routes.put(
    `${path}/:filmId/marks/:playId`,
    {
      ...ofMark,
      schema: {
        ...ofMark.schema,
        summary: 'Mark where a play’s snap is in a film',
        body: z.object({ seconds: filmSecondsInput }),
      },
    },
    async (request, reply) => {
      await markPlay(pool, sessionOf(request), request.params, request.body.seconds);
      return reply.code(204).send(null);
    },
  );
  routes.delete(
    `${path}/:filmId/marks/:playId`,
    { ...ofMark, schema: { ...ofMark.schema, summary: 'Take a mark of a play in a film away' } },
    async (request, reply) => {
      await markPlay(pool, sessionOf(request), request.params, null);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    '/api/film-settings',
    {
      config: forCoordinator,
      schema: {
        ...{ tags, summary: 'Who may see film, and how much is kept' },
        response: { 200: filmSetting },
      },
    },
    (request) => readFilmSetting(pool, sessionOf(request).conferenceId),
  );
  routes.put(
    '/api/film-settings',
    {
      config: forCoordinator,
      schema: {
        ...{ tags, summary: 'Say who may see film, and how much is kept', body: filmSetting },
        response: { 200: filmSetting },
      },
    },
    async (request) => {
      await inTransaction(pool, (client) => keepFilmSetting(client, sessionOf(request), request.body));
      return request.body;
    },
  );
}
