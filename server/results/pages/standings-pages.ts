import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { type PersonName, readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { positions } from '../../football/positions.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import { groupBy } from '../../grading/group-by.ts';
import { type SeasonModel, seasonModels } from '../../grading/season-choice.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { number, signed } from '../../web/format.ts';
import { axisPlot, intervalPlot, plotScale } from '../../web/interval-plot.ts';
import type { Reading } from '../reading.ts';
import { clipsSentence } from '../standings/clips-words.ts';
import { lastSeasonSentence } from '../standings/last-season-words.ts';
import { modelWords } from '../standings/model-words.ts';
import type { CurrentStandings, StandingLine } from '../standings/season-standings.ts';
import { observerSeverityWords } from '../standings/severity-words.ts';
import { severityCsv, standingsCsv } from '../standings/standings-csv.ts';
import {
  keepModelSetting,
  keepStandingsSettings,
  modelSettingSchema,
  standingsSettingsSchema,
} from '../standings/standings-settings.ts';
import { detectionView } from './detection-view.ts';
import { chanceText, gradeRange, rangeText } from './rank-words.ts';

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

/** The season's standings, a position at a time, and observers' severity: for the coordinator only. */
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
    { results, prisma }: Reading,
    form?: Form,
    wrong: FormErrors = {},
  ) {
    const own = await results.standingsOf(season.conferenceId, season.id, by);
    const apart = model !== undefined && model !== own.model.used;
    const standings = apart ? await results.standingsOf(season.conferenceId, season.id, by, model) : own;
    const people = await readPeople({ prisma }, season.conferenceId);
    const { minimumGames, minimumOpportunities, places } = standings.settings;
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
      ...positionView(standings, position, people),
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
    '/seasons/:seasonId/severity',
    { ...coordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { standings, people, detection } = await app.reading(request, (from) =>
        severityOf(from, conferenceId, season.id),
      );
      return reply.page(
        'results/severity',
        {
          season,
          standings,
          ...severityView(standings, people),
          clips: standings.clips && clipsSentence(standings.clips),
          detection: detectionView(detection, standings, people),
        },
        { title: 'Severity of observers', width: 'wide' },
      );
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

  pages.get(
    '/seasons/:seasonId/severity.csv',
    { ...coordinator, schema: { hide: true, params: ofSeason, querystring: z.object(csvChoice) } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { standings, people, detection } = await app.reading(request, (from) =>
        severityOf(from, conferenceId, season.id),
      );
      return sendCsv(reply, 'severity', severityCsv(standings, detection, people), request.query);
    },
  );
}

const severityOf = async (from: Reading, conferenceId: string, seasonId: string) => ({
  standings: await from.results.standingsOf(conferenceId, seasonId),
  detection: await from.results.detectionOf(conferenceId, seasonId),
  people: await readPeople(from, conferenceId),
});

/** Which model the standings shown are by, why, and the other to look at. */
const addressOf = (seasonId: string, position: string, by: string) =>
  `/seasons/${seasonId}/standings?position=${encodeURIComponent(position)}${by === 'whole' ? '' : `&by=${by}`}`;

function modelView(own: CurrentStandings, shown: CurrentStandings) {
  const words = (used: SeasonModel) => ({ model: used, ...modelWords[used] });
  const { used, why } = own.model;
  return {
    used: words(used),
    why,
    shown: words(shown.model.used),
    other: words(used === 'linear' ? 'counts' : 'linear'),
    apart: shown.model.used !== used,
    choices: [
      {
        value: 'by its games',
        name: 'By whichever foretells the season’s games better',
        here: !own.settings.fixedModel,
      },
      ...seasonModels.map((model) => ({
        value: model,
        name: `Always by ${modelWords[model].doing}`,
        here: own.settings.fixedModel === model,
      })),
    ],
  };
}

function positionView(
  standings: CurrentStandings,
  position: string,
  people: ReadonlyMap<string, PersonName>,
) {
  const lines = standings.lines.filter((line) => line.position === position);
  const marks = lines.flatMap(({ adjusted, raw }) => (adjusted ? [markOf(adjusted, raw)] : []));
  const scale = plotScale(marks, 100);
  const ranked = lines.filter((line) => line.rank).length;
  const rows = lines.map((line) => ({
    ...line,
    official: people.get(line.personId),
    rankText: line.rank ? `${line.rank.tied ? '=' : ''}${line.rank.place}` : '',
    chance: chanceText(line.placeChance, ranked <= standings.settings.places),
    interval: gradeRange(line.adjusted),
    likely: line.rank && rangeText(line.rank.low, line.rank.high),
    ...movedText(line),
    plot: line.adjusted
      ? intervalPlot(
          markOf(line.adjusted, line.raw),
          scale,
          `Adjusted ${number(line.adjusted.grade, 2)}, 90 % interval ${errorUnknown(line.adjusted) ? 'not known' : gradeRange(line.adjusted)}; as marked ${number(line.raw, 2)}`,
        )
      : '',
  }));
  const groups = [
    ...groupBy(
      rows.filter((row) => row.rank !== null),
      (row) => row.group,
    ),
  ].map(([group, members]) => ({
    rows: members,
    title: `Group ${group + 1}`,
    observers: (standings.groups[group]?.observers ?? []).map((id) => people.get(id)).filter(Boolean),
  }));
  return {
    axis: axisPlot(scale),
    groups,
    apart: groups.length > 1,
    unranked: rows.filter((row) => row.rank === null),
  };
}

const markOf = ({ low, high, grade }: NonNullable<StandingLine['adjusted']>, raw: number | null) => ({
  low,
  high,
  value: grade,
  other: raw,
});

/** By how many ranks and points a line moved since the week before, in words. */
function movedText({ rank, before, adjusted }: StandingLine): { moved: string; movedPoints: string } {
  if (!rank) return { moved: '', movedPoints: '' };
  if (!before || before.place === null) return { moved: 'newly ranked', movedPoints: '' };
  const ranks = before.place - rank.place;
  return {
    moved: ranks === 0 ? 'same' : `${ranks > 0 ? 'up' : 'down'} ${Math.abs(ranks)}`,
    movedPoints: adjusted && before.adjusted !== null ? signed(adjusted.grade - before.adjusted, 2) : '',
  };
}

function severityView(standings: CurrentStandings, people: ReadonlyMap<string, PersonName>) {
  const known = standings.observers.filter((row) => row.effect !== null);
  const reach = Math.max(0.5, ...known.flatMap(({ low, high }) => [-low, high]));
  const scale = plotScale([{ low: -reach, high: reach, value: 0 }]);
  return {
    axis: axisPlot(scale),
    apart: standings.groups.length > 1,
    // Across groups the order would say what nothing tells.
    rows: standings.observers
      .toSorted((a, b) => a.group - b.group)
      .map((row) => ({
        ...row,
        person: people.get(row.observer),
        groupNumber: row.group + 1,
        points: row.effect === null ? '' : signed(row.effect, 2),
        words: observerSeverityWords(row),
        interval: row.effect === null ? '' : `${signed(row.low, 2)} to ${signed(row.high, 2)}`,
        plot:
          row.effect === null
            ? ''
            : intervalPlot(
                { low: row.low, high: row.high, value: row.effect },
                scale,
                `${signed(row.effect, 2)} points, 90 % interval ${signed(row.low, 2)} to ${signed(row.high, 2)}`,
                0,
              ),
      })),
  };
}
