import { fullName } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';

export interface Someone {
  readonly id: string;
  readonly givenName: string;
  readonly familyName: string;
  readonly email: string;
  readonly homePlace: string | null;
  readonly roles: readonly string[];
}

export async function everybody(db: Queryable, conferenceId: string): Promise<Someone[]> {
  const { rows } = await db.query<Someone>(
    `SELECT p.id, p.given_name AS "givenName", p.family_name AS "familyName", p.email, p.home_place AS "homePlace",
            COALESCE(array_agg(r.role ORDER BY r.role) FILTER (WHERE r.role IS NOT NULL), '{}') AS roles
       FROM person p LEFT JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 GROUP BY p.conference_id, p.id`,
    [conferenceId],
  );
  return rows;
}

/** Whose data it is, and since when nothing of it is left. */
export async function nameAndErasure(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  id: string,
): Promise<{ id: string; name: string; erasedAt: Date | null }> {
  const { erasedAt, ...person } = await prisma.person.findUniqueOrThrow({
    where: { conferenceId_id: { conferenceId, id } },
    select: { givenName: true, familyName: true, erasedAt: true },
  });
  return { id, name: fullName(person), erasedAt };
}

const escaped = (text: string) => text.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&');

/**
 * How a person is written in a text: both names in either order, with an initial, the address, and the family name by
 * itself unless `others` share it.
 */
function writtenAs(one: Someone, others: readonly Someone[]): string[] {
  const { givenName, familyName, email } = one;
  const shared = others.some(
    (other) => other.id !== one.id && other.familyName.toLowerCase() === familyName.toLowerCase(),
  );
  return [
    email,
    `${givenName} ${familyName}`,
    `${familyName}, ${givenName}`,
    `${familyName} ${givenName}`,
    `${givenName[0]}. ${familyName}`,
    ...(shared ? [] : [familyName]),
  ];
}

/** Replaces whole words in every text of a JSON value, names of members too. */
export type Replace = <Value>(value: Value) => Value;

/** @param by what stands in place of each of `whom`, by their id */
export function replacing(
  whom: readonly Someone[],
  all: readonly Someone[],
  by: (one: Someone) => string,
): Replace {
  const places = new Map<string, string>();
  for (const one of whom) {
    for (const text of [one.id, ...writtenAs(one, all)]) {
      if (!places.has(text.toLowerCase())) places.set(text.toLowerCase(), by(one));
    }
  }
  // The longest first, so that a family name does not take half of a whole one.
  const texts = [...places.keys()].sort((one, other) => other.length - one.length);
  if (texts.length === 0) return (value) => value;
  const pattern = new RegExp(
    `(?<![\\p{L}\\p{N}])(?:${texts.map(escaped).join('|')})(?![\\p{L}\\p{N}])`,
    'giu',
  );
  const inText = (text: string) => text.replaceAll(pattern, (found) => places.get(found.toLowerCase())!);
  const inValue = (value: unknown): unknown => {
    if (typeof value === 'string') return inText(value);
    if (Array.isArray(value)) return value.map(inValue);
    if (value === null || typeof value !== 'object' || value instanceof Date) return value;
    return Object.fromEntries(Object.entries(value).map(([key, part]) => [inText(key), inValue(part)]));
  };
  return (value) => inValue(value) as typeof value;
}

/** Parts of a JSON value that name a person by id: the smallest objects and lists that hold it directly. */
export function partsAbout(value: unknown, personId: string): unknown[] {
  if (value === null || typeof value !== 'object') return [];
  const parts = Object.values(value);
  if (parts.includes(personId)) return [value];
  return parts.flatMap((part) => partsAbout(part, personId));
}
