import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { positions } from '../../football/positions.ts';
import { type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import { seasonModels } from '../../grading/season-choice.ts';
import { sharesByOfficial } from '../../knowledge/official-lines.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import type { Reading } from '../reading.ts';
import { clipsSentence } from '../standings/clips-words.ts';
import { lastSeasonSentence } from '../standings/last-season-words.ts';
import { lineFigure } from '../standings/line-figure.ts';
import { standingsCsv } from '../standings/standings-csv.ts';
import {
  keepModelSetting,
  keepStandingsSettings,
  modelSettingSchema,
  standingsSettingsSchema,
} from '../standings/standings-settings.ts';
import { modelView, positionView } from './standings-view.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const byKindOf = {
  by: z.enum(gradeKinds).default('whole'),
  /** To look at; left out, the one that the season uses. */
  model: z.enum(seasonModels).optional(),
};
const ofPosition = z.object({ position: z.enum(positions).default('referee'), ...byKindOf });

/** What the standings are read by, as the choice and the heading name it. */
const kindNames: Record<GradeKind, { choice: string; heading: string }> = {
  whole: { choice: 'Whole grade', heading: '' },
  calls: { choice: 'Calls only', heading: ', by calls' },
  mechanics: { choice: 'Mechanics only', heading: ', by mechanics' },
};

/** The season's standings, a position at a time: for the coordinator only. */
export async function standingsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const primary: Reading = { ...database, results: app.results };
  const coordinator = { config: { policy: policies.coordinator } };

  pages.get('/standings', { ...coordinator, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/standings` : '/season');
  });

  async function standingsView(
    season: Season,
    { position, by, model }: z.infer<typeof ofPosition>,
    { results, pool, prisma }: Reading,
    form?: Form,
    wrong: FormErrors = {},
  ) {
    const own = await results.standingsOf(season.conferenceId, season.id, by);
    const apart = model !== undefined && model !== own.model.used;
    const standings = apart ? await results.standingsOf(season.conferenceId, season.id, by, model) : own;
    const people = await readPeople({ prisma }, season.conferenceId);
    const { minimumGames, minimumOpportunities, places } = standings.settings;
    // Quizzes count beside the season's own whole grade, and beside nothing else.
    const weight = apart || by !== 'whole' ? null : await readWeight(pool, season.conferenceId, season.id);
    const shares = weight && (await sharesByOfficial(pool, season.conferenceId, season.id));
    return {
      season,
      position,
      by,
      heading: kindNames[by].heading,
      partly: by !== 'whole',
      andBy: by === 'whole' ? '' : `&by=${by}`,
      andModel: apart ? `&model=${model}` : '',
      model: modelView(own, standings),
      clips: standings.clips && clipsSentence(standings.clips),
      clipsTaken: standings.clips?.reason === null,
      lastSeason: standings.lastSeason && {
        ...standings.lastSeason,
        words: lastSeasonSentence(standings.lastSeason.name, standings.lastSeason),
      },
      kinds: gradeKinds.map((kind) => ({ kind, name: kindNames[kind].choice, here: kind === by })),
      tabs: positions.map((name) => ({ name, here: name === position })),
      standings,
      reports: standings.reports === 1 ? '1 released report' : `${standings.reports} released reports`,
      weight,
      quizzesOfAll: shares !== null && [...shares.values()].some(({ told }) => told.ofAll),
      ...positionView(
        standings,
        position,
        people,
        (line) => weight && lineFigure(line, shares?.get(line.personId), weight.percent),
      ),
      settings: form ?? { minimumGames, minimumOpportunities, places },
      wrong,
      hasWrong: Object.keys(wrong).length > 0,
    };
  }

  async function refused(
    reply: FastifyReply,
    season: Season,
    query: z.infer<typeof ofPosition>,
    form: Form,
    error: z.ZodError,
  ) {
    const view = await standingsView(season, query, primary, form, errorsBesideLabels(error));
    return reply
      .code(400)
      .page('results/standings', view, { title: `Standings, ${query.position}`, width: 'wide' });
  }

  pages.get(
    '/seasons/:seasonId/standings',
    { ...coordinator, schema: { hide: true, params: ofSeason, querystring: ofPosition } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const { position, by } = request.query;
      const view = await app.reading(request, (from) => standingsView(season, request.query, from));
      return reply.page('results/standings', view, {
        title: `Standings, ${position}${kindNames[by].heading}`,
        width: 'wide',
      });
    },
  );

  pages.post(
    '/seasons/:seasonId/standings/settings',
    { ...coordinator, schema: { hide: true, params: ofSeason, querystring: ofPosition } },
    async (request, reply) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      const { position, by } = request.query;
      const form = formOf(request.body);
      const parsed = standingsSettingsSchema.safeParse({
        minimumGames: textOf(form.minimumGames) || undefined,
        minimumOpportunities: textOf(form.minimumOpportunities) || undefined,
        places: textOf(form.places) || undefined,
      });
      if (!parsed.success) {
        return refused(reply, season, request.query, form, parsed.error);
      }
      await inTransaction(database.pool, (client) =>
        keepStandingsSettings(client, actor, season.id, parsed.data),
      );
      return reply.redirect(addressOf(season.id, position, by), 303);
    },
  );

  pages.post(
    '/seasons/:seasonId/standings/model',
    { ...coordinator, schema: { hide: true, params: ofSeason, querystring: ofPosition } },
    async (request, reply) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      const { position, by } = request.query;
      const form = formOf(request.body);
      const parsed = modelSettingSchema.safeParse({ model: textOf(form.model) });
      if (!parsed.success) {
        return refused(reply, season, request.query, form, parsed.error);
      }
      await inTransaction(database.pool, (client) => keepModelSetting(client, actor, season.id, parsed.data));
      return reply.redirect(addressOf(season.id, position, by), 303);
    },
  );

  pages.get(
    '/seasons/:seasonId/standings.csv',
    {
      ...coordinator,
      schema: { hide: true, params: ofSeason, querystring: z.object({ ...byKindOf, ...csvChoice }) },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { by, model } = request.query;
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { standings, people } = await app.reading(request, async (from) => ({
        standings: await from.results.standingsOf(conferenceId, season.id, by, model),
        people: await readPeople(from, conferenceId),
      }));
      const file = [
        'standings',
        ...(by === 'whole' ? [] : ['by', by]),
        ...(model ? ['with', model] : []),
      ].join('-');
      return sendCsv(reply, file, standingsCsv(standings, people), request.query);
    },
  );
}

const addressOf = (seasonId: string, position: string, by: string) =>
  `/seasons/${seasonId}/standings?position=${encodeURIComponent(position)}${by === 'whole' ? '' : `&by=${by}`}`;
