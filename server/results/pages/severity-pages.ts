import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { type PersonName, readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import { signed } from '../../web/format.ts';
import { axisPlot, intervalPlot, plotScale } from '../../web/interval-plot.ts';
import type { Reading } from '../reading.ts';
import { clipsSentence } from '../standings/clips-words.ts';
import type { CurrentStandings } from '../standings/season-standings.ts';
import { observerSeverityWords } from '../standings/severity-words.ts';
import { severityCsv } from '../standings/standings-csv.ts';
import { detectionView } from './detection-view.ts';

const ofSeason = z.object({ seasonId: z.uuid() });

/** How strict observers are: for the coordinator only. */
export async function severityPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const coordinator = { config: { policy: policies.coordinator } };

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
