import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { timeZoneNames } from '../../web/time-zone.ts';
import { coordinatesText } from '../coordinates.ts';
import {
  findTeam,
  findVenue,
  readVenues,
  saveTeam,
  saveVenue,
  teamInput,
  venueInput,
} from '../place-store.ts';
import { readTeams } from '../schedule-store.ts';
import { addedNotice, wantsAnother } from './entering.ts';

/** Venues and teams: listed, added and corrected one by one. */
export async function placePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const hidden = { hide: true };
  const ofVenue = { hide: true, params: z.object({ venueId: z.uuid() }) };
  const ofTeam = { hide: true, params: z.object({ teamId: z.uuid() }) };

  pages.get('/venues', { config, schema: hidden }, (_request, reply) => reply.redirect('/teams'));

  pages.get('/teams', { config, schema: hidden }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const venues = await readVenues(app.database, conferenceId);
    return reply.page(
      'schedule/places',
      {
        venues: venues.map((venue) => ({ ...venue, coordinates: coordinatesText(venue) })),
        teams: await readTeams(app.database, conferenceId),
        notice: kept[textOf(formOf(request.query).done)],
      },
      { title: 'Venues and teams' },
    );
  });

  async function venueForm(reply: FastifyReply, values: Form, errors: FormErrors, venueId?: string) {
    const title = venueId === undefined ? 'Add a venue' : 'Correct a venue';
    const view = { values, errors, title, adding: venueId === undefined, zones: timeZoneNames };
    return reply.page('schedule/venue', { ...view, notice: addedNotice(reply.request) }, { title });
  }

  pages.get('/venues/add', { config, schema: hidden }, async (request, reply) => {
    const zone = sessionOf(request).timeZone;
    return venueForm(reply, { timeZone: zone }, {});
  });

  pages.get('/venues/:venueId', { config, schema: ofVenue }, async (request, reply) => {
    const venue = await findVenue(pool, sessionOf(request).conferenceId, request.params.venueId);
    const { name, place, timeZone } = venue;
    return venueForm(reply, { name, place, timeZone, coordinates: coordinatesText(venue) }, {}, venue.id);
  });

  async function takeVenue(request: FastifyRequest, reply: FastifyReply, venueId?: string) {
    const form = formOf(request.body);
    const venue = venueInput.safeParse(form);
    if (!venue.success) return venueForm(reply.code(400), form, errorsOf(venue.error), venueId);
    try {
      await inTransaction(pool, (client) => saveVenue(client, sessionOf(request), venue.data, venueId));
    } catch (error) {
      return venueForm(reply.code(409), form, fieldErrors(error), venueId);
    }
    const again = `/venues/add?added=${encodeURIComponent(venue.data.name)}`;
    return reply.redirect(wantsAnother(form) ? again : '/teams?done=venue', 303);
  }

  pages.post('/venues/add', { config, schema: hidden }, (request, reply) => takeVenue(request, reply));
  pages.post('/venues/:venueId', { config, schema: ofVenue }, async (request, reply) => {
    const { id } = await findVenue(pool, sessionOf(request).conferenceId, request.params.venueId);
    return takeVenue(request, reply, id);
  });

  async function teamForm(reply: FastifyReply, values: Form, errors: FormErrors, teamId?: string) {
    const venues = await readVenues(app.database, sessionOf(reply.request).conferenceId);
    const title = teamId === undefined ? 'Add a team' : 'Correct a team';
    const chosen = textOf(values.venueId);
    const view = {
      values,
      errors,
      title,
      adding: teamId === undefined,
      noVenues: venues.length === 0,
      venues: venues.map(({ id, name }) => ({ id, name, chosen: id === chosen })),
    };
    return reply.page('schedule/team', { ...view, notice: addedNotice(reply.request) }, { title });
  }

  pages.get('/teams/add', { config, schema: hidden }, (_request, reply) => teamForm(reply, {}, {}));

  pages.get('/teams/:teamId', { config, schema: ofTeam }, async (request, reply) => {
    const team = await findTeam(pool, sessionOf(request).conferenceId, request.params.teamId);
    return teamForm(reply, { name: team.name, venueId: team.venueId ?? '' }, {}, team.id);
  });

  async function takeTeam(request: FastifyRequest, reply: FastifyReply, teamId?: string) {
    const form = formOf(request.body);
    const team = teamInput.safeParse({ name: textOf(form.name), venueId: textOf(form.venueId) });
    if (!team.success) return teamForm(reply.code(400), form, errorsOf(team.error), teamId);
    try {
      await inTransaction(pool, (client) => saveTeam(client, sessionOf(request), team.data, teamId));
    } catch (error) {
      return teamForm(reply.code(409), form, fieldErrors(error), teamId);
    }
    const again = `/teams/add?added=${encodeURIComponent(team.data.name)}`;
    return reply.redirect(wantsAnother(form) ? again : '/teams?done=team', 303);
  }

  pages.post('/teams/add', { config, schema: hidden }, (request, reply) => takeTeam(request, reply));
  pages.post('/teams/:teamId', { config, schema: ofTeam }, async (request, reply) => {
    const { id } = await findTeam(pool, sessionOf(request).conferenceId, request.params.teamId);
    return takeTeam(request, reply, id);
  });
}

const kept: Record<string, string> = { venue: 'The venue is kept.', team: 'The team is kept.' };
