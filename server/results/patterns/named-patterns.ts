import { fullName, readPeople } from '../../accounts/people-names.ts';
import type { Database } from '../../database/database.ts';
import { type Evidence, enoughPeersToShow } from '../../patterns/evidence.ts';
import type { SeasonResults } from '../season-results.ts';
import { type DutyName, readDuties } from './pattern-counts.ts';

export interface Names {
  duties: ReadonlyMap<string, DutyName>;
  people: Awaited<ReturnType<typeof readPeople>>;
  crews: Map<string, string>;
}

export async function readNames(
  database: Pick<Database, 'prisma' | 'pool'>,
  conferenceId: string,
  seasonId: string,
): Promise<Names> {
  const crews = await database.prisma.crew.findMany({
    where: { conferenceId, seasonId },
    select: { id: true, name: true },
  });
  return {
    duties: await readDuties(database.pool, conferenceId, seasonId),
    people: await readPeople(database, conferenceId),
    crews: new Map(crews.map(({ id, name }) => [id, name])),
  };
}

const nameOf = (names: Names, id: string) => {
  const person = names.people.get(id);
  return person ? fullName(person) : id;
};

/** A season's patterns with titles and names, for the coordinator. */
export async function namedPatterns(
  database: Pick<Database, 'prisma' | 'pool'>,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
) {
  const found = await results.patternsOf(conferenceId, seasonId);
  const names = await readNames(database, conferenceId, seasonId);
  const titled = <T extends { duty: string }>(row: T) => ({
    ...row,
    title: names.duties.get(row.duty)?.title ?? row.duty,
    guidance: names.duties.get(row.duty)?.guidance ?? '',
  });
  const ofOfficial = <T extends { duty: string; official: string }>(row: T) => ({
    ...titled(row),
    officialName: nameOf(names, row.official),
  });
  return {
    ...found,
    patterns: found.patterns.map(ofOfficial),
    strengths: found.strengths.map(ofOfficial),
    crews: found.crews.map((row) => ({ ...titled(row), crewName: names.crews.get(row.crew) ?? row.crew })),
    conference: found.conference.map(titled),
    weeks: found.weeks.map(titled),
  };
}

/** One official's own patterns and strengths: no name of anybody else, and peers only where they are several. */
export async function ownPatterns(
  { pool }: Pick<Database, 'pool'>,
  results: SeasonResults,
  conferenceId: string,
  seasonId: string,
  personId: string,
) {
  const found = await results.patternsOf(conferenceId, seasonId);
  const duties = await readDuties(pool, conferenceId, seasonId);
  const own = <T extends Evidence & { official: string }>(rows: readonly T[]) =>
    rows
      .filter((row) => row.official === personId)
      .map((row) => {
        const shown = enoughPeersToShow(row);
        return {
          ...row,
          title: duties.get(row.duty)?.title ?? row.duty,
          guidance: duties.get(row.duty)?.guidance ?? '',
          peers: shown ? row.peers : null,
          expected: shown ? row.expected : null,
          excess: shown ? row.excess : null,
          consequence: shown ? row.consequence : null,
          elsewhere: null,
          weeks: shown ? row.weeks : row.weeks.map((week) => ({ ...week, expected: null })),
        };
      });
  return {
    official: personId,
    inputRevision: found.inputRevision,
    patterns: own(found.patterns),
    strengths: own(found.strengths).map((row) => ({
      ...row,
      peersModel: enoughPeersToShow(row) ? row.peersModel : null,
    })),
  };
}
