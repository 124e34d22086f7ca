import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { fullName, readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { knownInterval } from '../../grading/adjusted-grade.ts';
import { readSeasonGames } from '../../schedule/season-overview.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../../web/csv-file.ts';
import { notFound } from '../../web/problem.ts';
import { whyRanks } from '../standings/why-rank.ts';
import { wayInWords, whyView } from './why-view.ts';

const ofOfficial = z.object({ seasonId: z.uuid(), personId: z.uuid() });

/** What would change an official's rank: for the coordinator only, since it names observers and tells of peers. */
export async function whyPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const coordinator = {
    config: { policy: policies.coordinator },
    schema: { hide: true, params: ofOfficial },
  };
  const asFile = { ...coordinator, schema: { ...coordinator.schema, querystring: z.object(csvChoice) } };

  async function asked(request: FastifyRequest, { seasonId, personId }: z.infer<typeof ofOfficial>) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    return app.reading(request, async (from) => {
      const people = await readPeople(from, conferenceId);
      const official = people.get(personId);
      if (!official) throw notFound('official');
      const results = await from.results.waysOf(conferenceId, season.id);
      const whys = await whyRanks(from.pool, results, { conferenceId, seasonId, personId });
      const found = await readSeasonGames(from.pool, conferenceId, season.id);
      const games = new Map(found.map((game) => [game.id, `${game.visitor} at ${game.home}`]));
      return { season, official, whys, standings: results.standings, names: { people, games } };
    });
  }

  pages.get('/seasons/:seasonId/officials/:personId/why', coordinator, async (request, reply) => {
    const { season, official, whys, standings, names } = await asked(request, request.params);
    const { places } = standings.settings;
    return reply.page(
      'results/why',
      { season, official, places, ranks: whys.map((why) => whyView(why, places, names)) },
      { title: `Why this rank: ${fullName(official)}`, width: 'wide' },
    );
  });

  pages.get('/seasons/:seasonId/officials/:personId/why.csv', asFile, async (request, reply) => {
    const { whys, names } = await asked(request, request.params);
    const rows = whys.flatMap(({ position, strictest, ways, games }) => [
      ...ways.map(({ way, stands, line, reason }) => [
        position,
        wayInWords(way, strictest, names),
        stands ? 'yes' : 'no',
        line?.adjusted?.grade.toFixed(2) ?? '',
        knownInterval(line?.adjusted)?.low.toFixed(2) ?? '',
        knownInterval(line?.adjusted)?.high.toFixed(2) ?? '',
        line?.rank?.place ?? '',
        line?.rank?.low ?? '',
        line?.rank?.high ?? '',
        line?.placeChance?.toFixed(3) ?? '',
        line?.rank ? '' : (reason ?? ''),
      ]),
      ...games.map(({ week, gameId, without }) => [
        position,
        `Without week ${week}, ${names.games.get(gameId) ?? ''}`,
        'no',
        without?.grade.toFixed(2) ?? '',
        '',
        '',
        without?.place ?? '',
        '',
        '',
        '',
        without ? (without.unrankedReason ?? '') : 'no other game',
      ]),
    ]);
    return sendCsv(reply, 'why', tableCsv(columns, rows), request.query);
  });
}

const columns = [
  'position',
  'looked at',
  'as it stands',
  'adjusted grade',
  '90% low',
  '90% high',
  'rank',
  'rank 90% low',
  'rank 90% high',
  'chance of a place',
  'not ranked because',
];
