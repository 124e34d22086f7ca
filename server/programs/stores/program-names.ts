import { fullName, type PersonName, readPeople } from '../../accounts/people-names.ts';
import type { Database } from '../../database/database.ts';
import { type DutyName, readDuties } from '../../results/patterns/pattern-counts.ts';

/** What the coordinator's pages call things by. */
export interface ProgramNames {
  readonly people: ReadonlyMap<string, PersonName>;
  readonly crews: ReadonlyMap<string, string>;
  readonly teams: ReadonlyMap<string, string>;
  readonly duties: ReadonlyMap<string, DutyName>;
}

export async function readProgramNames(
  database: Pick<Database, 'prisma' | 'pool'>,
  conferenceId: string,
  seasonId: string,
): Promise<ProgramNames> {
  const select = { id: true, name: true } as const;
  const crews = await database.prisma.crew.findMany({ where: { conferenceId, seasonId }, select });
  const teams = await database.prisma.team.findMany({ where: { conferenceId }, select });
  return {
    people: await readPeople(database, conferenceId),
    crews: new Map(crews.map(({ id, name }) => [id, name])),
    teams: new Map(teams.map(({ id, name }) => [id, name])),
    duties: await readDuties(database.pool, conferenceId, seasonId),
  };
}

export const nameOf = (names: Pick<ProgramNames, 'people'>, personId: string): string => {
  const person = names.people.get(personId);
  return person ? fullName(person) : 'nobody entered';
};
