import type { Database } from '../database/database.ts';
import type { Person } from '../database/generated/client.ts';

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
