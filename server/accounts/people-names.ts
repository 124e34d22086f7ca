import type { Database } from '../database/database.ts';
import type { Person } from '../database/generated/client.ts';
import type { Role } from './roles.ts';

export type PersonName = Pick<Person, 'id' | 'givenName' | 'familyName'>;

/** The names of a conference's people by id, for pages that list many. */
export async function readPeople(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<Map<string, PersonName>> {
  const people = await prisma.person.findMany({
    where: { conferenceId },
    select: { id: true, givenName: true, familyName: true },
  });
  return new Map(people.map((person) => [person.id, person]));
}

/** Who is there and has one of the roles, by family name; `name` as people say it. */
export async function peopleInRoles(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  roles: readonly Role[],
): Promise<(PersonName & { name: string })[]> {
  const people = await prisma.person.findMany({
    where: { conferenceId, active: true, personRoles: { some: { role: { in: [...roles] } } } },
    orderBy: [{ familyName: 'asc' }, { givenName: 'asc' }, { id: 'asc' }],
    select: { id: true, givenName: true, familyName: true },
  });
  return people.map((one) => ({ ...one, name: fullName(one) }));
}

/** As people say it: `Chloe Dunmorrow`. */
export const fullName = ({ givenName, familyName }: Pick<PersonName, 'givenName' | 'familyName'>): string =>
  `${givenName} ${familyName}`;
