import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../../web/csv-file.ts';
import { person, signed } from '../../web/format.ts';
import { clipsSentence } from '../standings/clips-words.ts';
import {
  differsByPosition,
  type PositionSeverityLine,
  positionSeverity,
} from '../standings/position-severity.ts';
import { signedPlaces } from '../standings/standings-csv.ts';

/** Whether observers are stricter in some positions than in others: for the coordinator only. */
export async function positionSeverityPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const ofSeason = {
    config: { policy: policies.coordinator },
    schema: { hide: true, params: z.object({ seasonId: z.uuid() }) },
  };
  const asFile = { ...ofSeason, schema: { ...ofSeason.schema, querystring: z.object(csvChoice) } };
  const read = async (request: FastifyRequest, seasonId: string) => {
    const { conferenceId } = sessionOf(request);
    const season = await seasonOf(app.database, conferenceId, seasonId);
    return app.reading(request, async (from) => ({
      season,
      standings: await from.results.standingsOf(conferenceId, season.id),
      people: await readPeople(from, conferenceId),
    }));
  };

  pages.get('/seasons/:seasonId/severity/positions', ofSeason, async (request, reply) => {
    const { season, standings, people } = await read(request, request.params.seasonId);
    const lines = groupBy(positionSeverity(standings), ({ observer }) => observer);
    return reply.page(
      'results/severity-by-position',
      {
        season,
        differs: differsByPosition(standings),
        notes: standings.notes,
        clips: standings.clips && clipsSentence(standings.clips),
        apart: standings.groups.length > 1,
        positions,
        rows: standings.observers.map(({ observer }) => ({
          person: people.get(observer),
          cells: positions.map((position) =>
            cellOf(lines.get(observer)?.find((line) => line.position === position)),
          ),
        })),
      },
      { title: 'Severity by position', width: 'wide' },
    );
  });

  pages.get('/seasons/:seasonId/severity-by-position.csv', asFile, async (request, reply) => {
    const { standings, people } = await read(request, request.params.seasonId);
    const text = tableCsv(
      ['observer', 'position', 'games', 'points from the others', '90% low', '90% high', 'meaning'],
      positionSeverity(standings).map(({ observer, position, games, told, meaning }) => [
        person(people.get(observer)),
        position,
        games,
        ...(told ? [told.points, told.low, told.high].map((value) => signedPlaces(value, 2)) : ['', '', '']),
        meaning,
      ]),
    );
    return sendCsv(reply, 'severity-by-position', text, request.query);
  });
}

function cellOf(line: PositionSeverityLine | undefined) {
  if (!line) return { said: 'not seen' };
  const { told, meaning } = line;
  if (!told) return { said: meaning };
  const apart = told.high < 0 || told.low > 0;
  return {
    points: signed(told.points, 2),
    interval: `${signed(told.low, 2)} to ${signed(told.high, 2)}`,
    said: apart ? meaning.replace(' than the others', '') : '',
  };
}
