import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { crewSizes } from '../../football/positions.ts';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { seasonForm, weeksOfForm, weeksSent } from '../season-form.ts';
import { readSeasonLines } from '../season-list.ts';
import {
  chooseCurrentSeason,
  openSeason,
  reopenSeason,
  startSeason,
  stateInWords,
} from '../season-states.ts';
import { changeWeeks, readWeeks } from '../season-weeks.ts';
import { seasonOf, usualCrewSize } from '../seasons.ts';

/** The coordinator's seasons: which there are, which is the current one, what state each is in; opening one. */
export async function seasonsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  async function list(request: FastifyRequest, reply: FastifyReply, wrong?: string) {
    const lines = await readSeasonLines(pool, sessionOf(request).conferenceId);
    const seasons = lines.map((line) => ({
      ...line,
      words: stateInWords[line.state],
      tone: { open: 'warn', running: 'good', closed: '' }[line.state],
      mayStart: line.state === 'open',
      mayClose: line.state === 'running',
      mayReopen: line.state === 'closed',
      mayUndo: line.state === 'open' && line.reports === 0,
    }));
    return reply
      .code(wrong ? 409 : 200)
      .page(
        'schedule/seasons',
        { seasons, wrong, newest: seasons[0]?.name },
        { title: 'Seasons', width: 'wide' },
      );
  }

  pages.get('/seasons', { config, schema: { hide: true } }, (request, reply) => list(request, reply));

  /** Does a step and comes back to the list, which says why not when it is refused. */
  function step(
    name: string,
    work: (client: Parameters<typeof startSeason>[0], request: FastifyRequest, id: string) => Promise<void>,
  ) {
    pages.post(
      `/seasons/:seasonId/${name}`,
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        try {
          await inTransaction(pool, (client) => work(client, request, request.params.seasonId));
        } catch (error) {
          if (!(error instanceof Problem) || error.status !== 409) throw error;
          return list(request, reply, error.message);
        }
        return reply.redirect('/seasons', 303);
      },
    );
  }
  step('current', (client, request, id) => chooseCurrentSeason(client, sessionOf(request), id));
  step('start', (client, request, id) => startSeason(client, sessionOf(request), id));
  step('reopen', (client, request, id) => reopenSeason(client, sessionOf(request), id));

  async function openPage(request: FastifyRequest, reply: FastifyReply, form: Form, wrong: FormErrors = {}) {
    const lines = await readSeasonLines(pool, sessionOf(request).conferenceId);
    return reply.code(Object.keys(wrong).length > 0 ? 422 : 200).page(
      'schedule/open-season',
      {
        form,
        wrong,
        last: lines[0],
        sizes: crewSizes.map((size) => ({ size, chosen: String(size) === String(form.crewSize) })),
      },
      { title: 'Open a season', width: 'narrow' },
    );
  }

  pages.get('/seasons/new', { config, schema: { hide: true } }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const [last] = await readSeasonLines(pool, conferenceId);
    return openPage(request, reply, {
      crewSize: String(last?.crewSize ?? (await usualCrewSize(database, conferenceId))),
      firstWeek: '1',
    });
  });

  pages.post('/seasons/new', { config, schema: { hide: true } }, async (request, reply) => {
    const sent = formOf(request.body);
    const parsed = seasonForm.safeParse(sent);
    if (!parsed.success) return openPage(request, reply, sent, errorsOf(parsed.error));
    const { name, crewSize } = parsed.data;
    try {
      await inTransaction(pool, (client) =>
        openSeason(client, sessionOf(request), { name, crewSize, weeks: weeksOfForm(parsed.data) }),
      );
    } catch (error) {
      const wrong = fieldErrors(error);
      return openPage(request, reply, sent, { ...wrong, name: (error as Problem).message });
    }
    return reply.redirect('/seasons', 303);
  });

  async function weeksPage(
    request: FastifyRequest,
    reply: FastifyReply,
    seasonId: string,
    form?: Form,
    wrong: FormErrors = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const weeks = await readWeeks(pool, conferenceId, seasonId);
    const last = weeks.at(-1)?.number ?? 0;
    const rows = Array.from({ length: Math.min(30, Math.max(last + 3, 3)) + 1 }, (_, number) => {
      const week = weeks.find((one) => one.number === number);
      return {
        number,
        firstDay: form?.[`first-${number}`] ?? week?.firstDay ?? '',
        lastDay: form?.[`last-${number}`] ?? week?.lastDay ?? '',
        wrong: wrong[number],
      };
    });
    return reply
      .code(Object.keys(wrong).length > 0 ? 422 : 200)
      .page('schedule/weeks', { season, rows, wrong: wrong.all }, { title: `Weeks of ${season.name}` });
  }

  pages.get('/seasons/:seasonId/weeks', { config, schema: { hide: true, params } }, async (request, reply) =>
    weeksPage(request, reply, request.params.seasonId),
  );

  pages.post(
    '/seasons/:seasonId/weeks',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const sent = formOf(request.body);
      const { weeks, errors } = weeksSent(sent);
      const { seasonId } = request.params;
      if (Object.keys(errors).length > 0) return weeksPage(request, reply, seasonId, sent, errors);
      try {
        await inTransaction(pool, (client) => changeWeeks(client, sessionOf(request), seasonId, weeks));
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return weeksPage(request, reply, seasonId, sent, { all: error.message });
      }
      return reply.redirect('/seasons', 303);
    },
  );
}
