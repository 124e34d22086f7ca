import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { crewSizes } from '../../football/positions.ts';
import { coordinatesFrom } from '../../schedule/coordinates.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { ofGame, ofSelection } from '../postseason-schemas.ts';
import { gameSchema, type SelectionGame } from '../selection.ts';
import { addGame, changeGame, gameOf, removeGame } from '../stores/game-store.ts';
import { readNames } from '../stores/names-store.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { refusedIn } from './doing.ts';

/** The form's fields as the API sends them; coordinates are one field, as maps show them. */
function fromForm(form: Form): { game: object; wrong: FormErrors } {
  const coordinates = textOf(form.coordinates).trim();
  const found = coordinates === '' ? null : coordinatesFrom(coordinates);
  const id = (name: string) => textOf(form[name]) || null;
  return {
    game: {
      ...{
        name: textOf(form.name),
        playedOn: textOf(form.playedOn),
        kickoff: textOf(form.kickoff).slice(0, 5),
      },
      ...{ homeTeamId: id('homeTeamId'), homeName: textOf(form.homeName) },
      ...{ visitorTeamId: id('visitorTeamId'), visitorName: textOf(form.visitorName) },
      ...{ venueId: id('venueId'), place: textOf(form.place) },
      ...{ latitude: found?.latitude ?? null, longitude: found?.longitude ?? null },
      ...{ crewSize: Number(textOf(form.crewSize)), alternates: Number(textOf(form.alternates) || '0') },
      wholeCrew: textOf(form.wholeCrew) === 'yes',
    },
    wrong:
      coordinates !== '' && !found
        ? {
            coordinates: 'Write degrees north and east, as maps show them: 41.62, -93.98 (west is negative).',
          }
        : {},
  };
}

const valuesOf = (game: SelectionGame): Form => ({
  ...{ name: game.name, playedOn: game.playedOn, kickoff: game.kickoff },
  ...{ homeTeamId: game.homeTeamId ?? '', homeName: game.homeName },
  ...{ visitorTeamId: game.visitorTeamId ?? '', visitorName: game.visitorName },
  ...{ venueId: game.venueId ?? '', place: game.place },
  coordinates: game.latitude === null ? '' : `${game.latitude}, ${game.longitude}`,
  ...{ crewSize: String(game.crewSize), alternates: String(game.alternates) },
  wholeCrew: game.wholeCrew ? 'yes' : '',
});

const labels: Readonly<Record<string, string>> = {
  ...{
    name: 'Name',
    playedOn: 'Day',
    kickoff: 'Kickoff',
    homeTeamId: 'Home team',
    homeName: 'Home team by name',
  },
  ...{ visitorTeamId: 'Visitor', visitorName: 'Visitor by name', venueId: 'Venue', place: 'Place' },
  ...{ coordinates: 'Coordinates', crewSize: 'Crew', alternates: 'Alternates', wholeCrew: 'Kept whole' },
};

/** What is kept otherwise than it was typed, field by field. */
const theirsInWords = (
  kept: Form,
  typed: Form,
  { teams, venues }: Pick<Awaited<ReturnType<typeof readNames>>, 'teams' | 'venues'>,
) =>
  Object.keys(labels)
    .filter((field) => textOf(kept[field]) !== textOf(typed[field]).trim())
    .map((field) => {
      const value = textOf(kept[field]);
      return `${labels[field]}: ${teams.get(value) ?? venues.get(value) ?? (value || 'nothing')}`;
    });

/** Games to fill: added, changed, taken out. */
export async function gamePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.selectionOfConference };

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    { selectionId, gameId }: { selectionId: string; gameId: string | null },
    sent?: { form: Form; errors: FormErrors; refused?: string },
  ) {
    const { conferenceId } = sessionOf(request);
    const selection = await readSelection(pool, conferenceId, selectionId);
    const game = gameId === null ? null : gameOf(selection, gameId);
    const { crewSize } = await seasonOf(database, conferenceId, selection.seasonId);
    const names = await readNames(pool, conferenceId);
    const values: Form =
      sent?.form ?? (game ? valuesOf(game) : { crewSize: String(crewSize), alternates: '1' });
    const choices = (all: ReadonlyMap<string, string>, chosen: string) =>
      [...all].map(([id, name]) => ({ id, name, chosen: id === chosen }));
    return reply.page(
      'postseason/game',
      {
        ...{ selection, game, values, errors: sent?.errors ?? {}, refused: sent?.refused },
        seen: game && JSON.stringify(valuesOf(game)),
        theirs: game && sent?.refused ? theirsInWords(valuesOf(game), sent.form, names) : [],
        homeTeams: choices(names.teams, textOf(values.homeTeamId)),
        visitorTeams: choices(names.teams, textOf(values.visitorTeamId)),
        venues: choices(names.venues, textOf(values.venueId)),
        sizes: crewSizes.map((size) => ({
          id: size,
          name: `${size} officials`,
          chosen: String(size) === textOf(values.crewSize),
        })),
        wholeCrew: textOf(values.wholeCrew) === 'yes',
      },
      { title: game ? game.name : `A game of ${selection.title}` },
    );
  }

  async function keep(
    request: FastifyRequest,
    reply: FastifyReply,
    { selectionId, gameId }: { selectionId: string; gameId: string | null },
  ) {
    const form = formOf(request.body);
    const { game, wrong } = fromForm(form);
    const parsed = gameSchema.safeParse(game);
    const errors: FormErrors = { ...(parsed.success ? {} : errorsBesideLabels(parsed.error)), ...wrong };
    if (!parsed.success || Object.keys(errors).length > 0) {
      reply.code(400);
      return show(request, reply, { selectionId, gameId }, { form, errors });
    }
    try {
      if (gameId === null) await addGame(pool, sessionOf(request), selectionId, parsed.data);
      else
        await changeGame(
          pool,
          sessionOf(request),
          selectionId,
          gameId,
          parsed.data,
          (before) => form.seen === undefined || textOf(form.seen) === JSON.stringify(valuesOf(before)),
        );
      return reply.redirect(
        textOf(form.next) === 'another'
          ? `/postseason/${selectionId}/games/new`
          : `/postseason/${selectionId}?done=kept`,
        303,
      );
    } catch (error) {
      const { status, sentence } = refusedIn(error);
      reply.code(status);
      const fields = error instanceof Problem ? error.errors : [];
      return show(
        request,
        reply,
        { selectionId, gameId },
        {
          form,
          errors: Object.fromEntries(fields.map(({ field, message }) => [field, message])),
          refused: sentence,
        },
      );
    }
  }

  pages.get(
    '/postseason/:selectionId/games/new',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => show(request, reply, { ...request.params, gameId: null }),
  );
  pages.post(
    '/postseason/:selectionId/games/new',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => keep(request, reply, { ...request.params, gameId: null }),
  );
  pages.get(
    '/postseason/:selectionId/games/:selectionGameId',
    { config, schema: { hide: true, params: ofGame } },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId } = request.params;
      return show(request, reply, { selectionId, gameId });
    },
  );
  pages.post(
    '/postseason/:selectionId/games/:selectionGameId',
    { config, schema: { hide: true, params: ofGame } },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId } = request.params;
      return keep(request, reply, { selectionId, gameId });
    },
  );
  pages.post(
    '/postseason/:selectionId/games/:selectionGameId/delete',
    { config, schema: { hide: true, params: ofGame } },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId } = request.params;
      await removeGame(pool, sessionOf(request), selectionId, gameId);
      return reply.redirect(`/postseason/${selectionId}?done=kept`, 303);
    },
  );
}
