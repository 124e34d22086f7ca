import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { findGame, gameInput, latestGame, saveGame } from '../game-store.ts';
import { readVenues } from '../place-store.ts';
import { readCrews, readTeams } from '../schedule-store.ts';
import { seasonInView, seasonOf } from '../seasons.ts';
import { addedNotice, wantsAnother } from './entering.ts';
import { noSeason } from './no-season.ts';

const fields = [
  'week',
  'kickoff',
  'homeTeamId',
  'visitingTeamId',
  'venueId',
  'crewId',
  'key',
  'filmLink',
  'homePoints',
  'visitorPoints',
] as const;

/** Games added to a season one by one, and corrected. */
export async function gameEntryPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const ofSeason = { hide: true, params: z.object({ seasonId: z.uuid() }) };
  const config = { policy: policies.coordinator };
  const ofGame = { hide: true, params: z.object({ gameId: z.uuid() }) };

  async function gameForm(
    reply: FastifyReply,
    season: Season,
    values: Form,
    errors: FormErrors,
    gameId?: string,
  ) {
    const { conferenceId } = season;
    const teams = await readTeams(database, conferenceId);
    const venues = await readVenues(database, conferenceId);
    const crews = await readCrews(pool, conferenceId, season.id);
    const choices = (from: readonly { id: string; name: string }[], field: string) =>
      from.map(({ id, name }) => ({ id, name, chosen: id === textOf(values[field]) }));
    const title = gameId === undefined ? 'Add a game' : 'Correct a game';
    return reply.page(
      'schedule/game-entry',
      {
        season,
        values,
        errors,
        title,
        gameId,
        adding: gameId === undefined,
        lacksTeams: teams.length < 2,
        lacksVenues: venues.length === 0,
        homeTeams: choices(teams, 'homeTeamId'),
        visitingTeams: choices(teams, 'visitingTeamId'),
        venues: choices(venues, 'venueId'),
        crews: choices(crews, 'crewId'),
        noCrews: crews.length === 0,
        notice: addedNotice(reply.request),
      },
      { title },
    );
  }

  const seasonOfAddress = (request: FastifyRequest) =>
    seasonOf(database, sessionOf(request).conferenceId, (request.params as { seasonId: string }).seasonId);

  pages.get('/games/add', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return season ? reply.redirect(`/seasons/${season.id}/games/add`) : noSeason(reply);
  });

  pages.get('/seasons/:seasonId/games/add', { config, schema: ofSeason }, async (request, reply) => {
    const season = await seasonOfAddress(request);
    const latest = await latestGame(pool, season.conferenceId, season.id);
    return gameForm(reply, season, { week: String(latest?.week ?? 1), kickoff: latest?.kickoff ?? '' }, {});
  });

  pages.get('/games/:gameId/change', { config, schema: ofGame }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const { id, seasonId, ...game } = await findGame(pool, conferenceId, request.params.gameId);
    const values = Object.fromEntries(fields.map((field) => [field, String(game[field] ?? '')]));
    return gameForm(reply, await seasonOf(database, conferenceId, seasonId), values, {}, id);
  });

  async function takeGame(request: FastifyRequest, reply: FastifyReply, season: Season, gameId?: string) {
    const form = formOf(request.body);
    const game = gameInput.safeParse(
      Object.fromEntries(
        fields.map((field) => [
          field,
          field === 'week' ? textOf(form[field]) || undefined : textOf(form[field]),
        ]),
      ),
    );
    if (!game.success) return gameForm(reply.code(400), season, form, errorsOf(game.error), gameId);
    let id: string;
    try {
      id = await inTransaction(pool, (client) =>
        saveGame(client, sessionOf(request), season.id, game.data, gameId),
      );
    } catch (error) {
      return gameForm(reply.code(409), season, form, fieldErrors(error), gameId);
    }
    if (gameId !== undefined) return reply.redirect(`/games/${id}`, 303);
    if (!wantsAnother(form)) return reply.redirect(`/seasons/${season.id}`, 303);
    const { key } = await findGame(pool, season.conferenceId, id);
    return reply.redirect(`/seasons/${season.id}/games/add?added=${encodeURIComponent(key)}`, 303);
  }

  pages.post('/seasons/:seasonId/games/add', { config, schema: ofSeason }, async (request, reply) =>
    takeGame(request, reply, await seasonOfAddress(request)),
  );
  pages.post('/games/:gameId/change', { config, schema: ofGame }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const game = await findGame(pool, conferenceId, request.params.gameId);
    return takeGame(request, reply, await seasonOf(database, conferenceId, game.seasonId), game.id);
  });
}
