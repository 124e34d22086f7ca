import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { positionsOf } from '../../football/crews.ts';
import type { CrewSize } from '../../football/positions.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { readCrews } from '../../schedule/schedule-store.ts';
import { readWeeks, weeksFrom } from '../../schedule/season-weeks.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { type Form, type FormErrors, formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { crewFields, crewsSent, crewViews, nextSeasonSent } from '../next-season-form.ts';
import { openedAfter, openNextSeason, readStaff, weeksOfGames } from '../next-season-store.ts';
import { currentAfterUndoing, readUndoing, undoOpening } from '../undo-opening-store.ts';

/** One page that opens the next season from the last, and the page that takes an opening back. */
export async function nextSeasonPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  pages.get('/seasons/next', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return season ? reply.redirect(`/seasons/${season.id}/next`) : noSeason(reply);
  });

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    from: Season,
    sent?: Form,
    wrong: FormErrors = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const positions = positionsOf(from.crewSize as CrewSize);
    const staff = await readStaff(pool, conferenceId, from.id);
    const crews = (await readCrews(pool, conferenceId, from.id)).map(({ name, officials }, place) => ({
      place,
      name,
      members: officials
        .filter(({ official }) => staff.some(({ id }) => id === official.id))
        .map(({ position, official }) => ({ position, personId: official.id })),
    }));
    const form = sent ?? {
      ...(await suggested(conferenceId, from)),
      leaves: staff.filter((person) => person.wasAway).map((person) => person.id),
      asks: 'on',
      ...crewFields(crews),
    };
    const leaving = new Set(listOf(form.leaves));
    const rows = Math.max(0, ...crewsSent(form, positions).map(({ place }) => place + 1), crews.length) + 3;
    return reply.code(Object.keys(wrong).length > 0 ? 422 : 200).page(
      'setup/next-season',
      {
        from,
        running: from.state === 'running',
        already: await openedAfter(pool, conferenceId, from.id),
        form: { ...form, asks: textOf(form.asks) === 'on', closes: textOf(form.closes) === 'on' },
        wrong,
        hasWrong: Object.keys(wrong).length > 0,
        staff: staff.map((person) => ({
          ...person,
          words: person.roles.join(', '),
          official: person.roles.includes('official'),
          leaves: leaving.has(person.id),
        })),
        crews: crewViews(form, positions, staff, wrong, rows),
      },
      {
        title: `The season after ${from.name}`,
        width: 'wide',
        scripts: ['crew-board'],
        styles: ['crew-board.css'],
      },
    );
  }

  /** The same days of the week a year (52 weeks) later, and the number in the name raised by one. */
  async function suggested(conferenceId: string, from: Season): Promise<Form> {
    const weeks = await readWeeks(pool, conferenceId, from.id);
    const [given] = weeks;
    const was = given
      ? { firstDay: given.firstDay, first: given.number, count: weeks.length }
      : await weeksOfGames(pool, conferenceId, from.id);
    const year = /\d+/.exec(from.name)?.[0];
    return {
      name: year ? from.name.replace(year, String(Number(year) + 1)) : '',
      firstDay: was ? weeksFrom(was.firstDay, 53).at(-1)!.firstDay : '',
      weeks: was ? String(was.count) : '',
      firstWeek: String(was?.first ?? 1),
    };
  }

  pages.get('/seasons/:seasonId/next', { config, schema: { hide: true, params } }, async (request, reply) =>
    show(request, reply, await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId)),
  );

  pages.post(
    '/seasons/:seasonId/next',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const from = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const sent = formOf(request.body);
      const staff = await readStaff(pool, session.conferenceId, from.id);
      const { next, wrong } = nextSeasonSent(sent, positionsOf(from.crewSize as CrewSize), staff);
      if (!next) return show(request, reply, from, sent, wrong);
      try {
        await inTransaction(pool, (client) => openNextSeason(client, session, from.id, next));
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        const field = error.errors[0]?.field ?? 'all';
        return show(request, reply, from, sent, { [field]: error.message });
      }
      const closes = textOf(sent.closes) === 'on' && from.state === 'running';
      return reply.redirect(closes ? `/seasons/${from.id}/close` : '/seasons', 303);
    },
  );

  async function undoPage(request: FastifyRequest, reply: FastifyReply, seasonId: string, wrong?: string) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    return reply.code(wrong ? 409 : 200).page(
      'setup/undo-season',
      {
        season,
        mayUndo: season.state === 'open',
        ...(await readUndoing(pool, conferenceId, seasonId)),
        currentAfter: await currentAfterUndoing(pool, conferenceId, seasonId),
        wrong,
      },
      { title: `Undo the opening of ${season.name}`, width: 'narrow' },
    );
  }

  pages.get('/seasons/:seasonId/undo', { config, schema: { hide: true, params } }, (request, reply) =>
    undoPage(request, reply, request.params.seasonId),
  );

  pages.post(
    '/seasons/:seasonId/undo',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      try {
        await inTransaction(pool, (client) =>
          undoOpening(client, sessionOf(request), request.params.seasonId),
        );
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return undoPage(request, reply, request.params.seasonId, error.message);
      }
      return reply.redirect('/seasons', 303);
    },
  );
}
