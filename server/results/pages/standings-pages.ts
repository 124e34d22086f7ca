import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { type PersonName, readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { positions } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { number, percent, signed } from '../../web/format.ts';
import { axisPlot, intervalPlot, plotScale } from '../../web/interval-plot.ts';
import type { CurrentStandings, StandingLine } from '../standings/season-standings.ts';
import { severityWords } from '../standings/severity-words.ts';
import { severityCsv, standingsCsv } from '../standings/standings-csv.ts';
import { keepStandingsSettings, standingsSettingsSchema } from '../standings/standings-settings.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const ofPosition = z.object({ position: z.enum(positions).default('referee') });

/** The season's standings, a position at a time, and observers' severity: for the coordinator only. */
export async function standingsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const coordinator = { config: { policy: policies.coordinator } };

  pages.get('/standings', { ...coordinator, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/standings` : '/season');
  });

  async function standingsView(season: Season, position: string, form?: Form, wrong: FormErrors = {}) {
    const standings = await app.results.standingsOf(season.conferenceId, season.id);
    const people = await readPeople(database.pool, season.conferenceId);
    const { minimumGames, minimumOpportunities, places } = standings.settings;
    return {
      season,
      position,
      tabs: positions.map((name) => ({ name, here: name === position })),
      standings,
      reports: standings.reports === 1 ? '1 released report' : `${standings.reports} released reports`,
      ...positionView(standings, position, people),
      settings: form ?? { minimumGames, minimumOpportunities, places },
      wrong,
      hasWrong: Object.keys(wrong).length > 0,
    };
  }

  pages.get(
    '/seasons/:seasonId/standings',
    { ...coordinator, schema: { hide: true, params: ofSeason, querystring: ofPosition } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const { position } = request.query;
      return reply.page('results/standings', await standingsView(season, position), {
        title: `Standings, ${position}`,
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
      const { position } = request.query;
      const form = formOf(request.body);
      const parsed = standingsSettingsSchema.safeParse({
        minimumGames: textOf(form.minimumGames) || undefined,
        minimumOpportunities: textOf(form.minimumOpportunities) || undefined,
        places: textOf(form.places) || undefined,
      });
      if (!parsed.success) {
        const view = await standingsView(season, position, form, errorsBesideLabels(parsed.error));
        return reply
          .code(400)
          .page('results/standings', view, { title: `Standings, ${position}`, width: 'wide' });
      }
      await inTransaction(database.pool, (client) =>
        keepStandingsSettings(client, actor, season.id, parsed.data),
      );
      return reply.redirect(`/seasons/${season.id}/standings?position=${encodeURIComponent(position)}`, 303);
    },
  );

  pages.get(
    '/seasons/:seasonId/severity',
    { ...coordinator, schema: { hide: true, params: ofSeason } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const standings = await app.results.standingsOf(conferenceId, season.id);
      const people = await readPeople(database.pool, conferenceId);
      return reply.page(
        'results/severity',
        { season, standings, ...severityView(standings, people) },
        { title: 'Severity of observers', width: 'wide' },
      );
    },
  );

  for (const [file, write] of [
    ['standings', standingsCsv],
    ['severity', severityCsv],
  ] as const) {
    pages.get(
      `/seasons/:seasonId/${file}.csv`,
      { ...coordinator, schema: { hide: true, params: ofSeason } },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const season = await seasonOf(database, conferenceId, request.params.seasonId);
        const standings = await app.results.standingsOf(conferenceId, season.id);
        return reply
          .type('text/csv; charset=utf-8')
          .header('content-disposition', `attachment; filename="${file}.csv"`)
          .header('cache-control', 'no-store')
          .send(write(standings, await readPeople(database.pool, conferenceId)));
      },
    );
  }
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
    chance: ranked <= standings.settings.places ? percent(line.placeChance) : chanceText(line.placeChance),
    likely: line.rank && rangeText(line.rank.low, line.rank.high),
    ...movedText(line),
    plot: line.adjusted
      ? intervalPlot(
          markOf(line.adjusted, line.raw),
          scale,
          `Adjusted ${number(line.adjusted.grade)}, 90 % interval ${number(line.adjusted.low)} to ${number(line.adjusted.high)}; raw ${number(line.raw)}`,
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

/** Some thousand draws tell no chance from none, nor certainty from nearly so. */
function chanceText(chance: number | null): string {
  if (chance !== null && chance < 0.01) return 'under 1 %';
  if (chance !== null && chance > 0.99) return 'over 99 %';
  return percent(chance);
}

const rangeText = (low: number, high: number) => (low === high ? `${low}` : `${low} to ${high}`);

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
        words: severityWords(row),
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
