import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { positionsOf } from '../../football/crews.ts';
import type { CrewSize } from '../../football/positions.ts';
import { type Form, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { findCrew, readOfficials, saveCrew } from '../crew-store.ts';
import { readCrews } from '../schedule-store.ts';
import { seasonInView, seasonOf } from '../seasons.ts';
import { crewChoices, membersForm, membersFrom } from './crew-choices.ts';
import { addedNotice, wantsAnother } from './entering.ts';
import { noSeason } from './no-season.ts';

/** A season's crews: listed, added and corrected one by one. */
export async function crewPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const ofSeason = { hide: true, params: z.object({ seasonId: z.uuid() }) };
  const ofCrew = { hide: true, params: z.object({ seasonId: z.uuid(), crewId: z.uuid() }) };
  const season = (request: FastifyRequest) =>
    seasonOf(database, sessionOf(request).conferenceId, (request.params as { seasonId: string }).seasonId);

  pages.get('/crews', { config, schema: { hide: true } }, async (request, reply) => {
    const shown = await seasonInView(database, request);
    return shown ? reply.redirect(`/seasons/${shown.id}/crews`) : noSeason(reply);
  });

  pages.get('/seasons/:seasonId/crews', { config, schema: ofSeason }, async (request, reply) => {
    const shown = await season(request);
    const usual = positionsOf(shown.crewSize as CrewSize);
    const crews = await readCrews(pool, shown.conferenceId, shown.id);
    return reply.page(
      'schedule/crews',
      {
        season: shown,
        crews: crews.map((crew) => ({
          ...crew,
          size: crew.officials.length,
          missing: usual.filter((position) => crew.officials.every((one) => one.position !== position)),
        })),
        notice: textOf(formOf(request.query).done) === 'crew' ? 'The crew is kept.' : undefined,
      },
      { title: 'Crews' },
    );
  });

  async function crewForm(
    reply: FastifyReply,
    shown: Season,
    values: Form,
    errors: FormErrors,
    crewId?: string,
  ) {
    const officials = await readOfficials(database, shown.conferenceId);
    const title = crewId === undefined ? 'Add a crew' : 'Correct a crew';
    const view = {
      season: shown,
      values,
      errors,
      title,
      adding: crewId === undefined,
      noOfficials: officials.length === 0,
      tooFew: officials.length > 0 && officials.length < shown.crewSize ? officials.length : undefined,
      notice: addedNotice(reply.request),
      ...crewChoices(shown.crewSize as CrewSize, officials, values, errors),
    };
    return reply.page('schedule/crew', view, { title });
  }

  pages.get('/seasons/:seasonId/crews/add', { config, schema: ofSeason }, async (request, reply) => {
    const shown = await season(request);
    const there = await readCrews(pool, shown.conferenceId, shown.id);
    return crewForm(reply, shown, { name: `Crew ${there.length + 1}` }, {});
  });

  pages.get('/seasons/:seasonId/crews/:crewId', { config, schema: ofCrew }, async (request, reply) => {
    const shown = await season(request);
    const crew = await findCrew(pool, shown.conferenceId, shown.id, request.params.crewId);
    const members = crew.officials.map(({ position, official }) => ({ position, personId: official.id }));
    return crewForm(reply, shown, { name: crew.name, ...membersForm(members) }, {}, crew.id);
  });

  async function takeCrew(request: FastifyRequest, reply: FastifyReply, shown: Season, crewId?: string) {
    const form = formOf(request.body);
    const name = textOf(form.name).trim();
    if (name === '' || name.length > 100) {
      const wrong = name === '' ? 'Write the name of the crew.' : 'Write at most 100 characters.';
      return crewForm(reply.code(400), shown, form, { name: wrong }, crewId);
    }
    try {
      await inTransaction(pool, (client) =>
        saveCrew(client, sessionOf(request), shown.id, { name, members: membersFrom(form) }, crewId),
      );
    } catch (error) {
      return crewForm(reply.code(409), shown, form, fieldErrors(error), crewId);
    }
    const crews = `/seasons/${shown.id}/crews`;
    const again = `${crews}/add?added=${encodeURIComponent(name)}`;
    return reply.redirect(wantsAnother(form) ? again : `${crews}?done=crew`, 303);
  }

  pages.post('/seasons/:seasonId/crews/add', { config, schema: ofSeason }, async (request, reply) =>
    takeCrew(request, reply, await season(request)),
  );
  pages.post('/seasons/:seasonId/crews/:crewId', { config, schema: ofCrew }, async (request, reply) => {
    const shown = await season(request);
    const { id } = await findCrew(pool, shown.conferenceId, shown.id, request.params.crewId);
    return takeCrew(request, reply, shown, id);
  });
}
