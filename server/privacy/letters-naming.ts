import type { Queryable } from '../database/transaction.ts';
import { kindTitles } from '../letters/kind-titles.ts';
import type { LetterKind } from '../letters/letter-data.ts';
import { everybody, replacing } from './people.ts';

interface LetterNaming {
  readonly id: string;
  readonly title: string;
  readonly season: string;
  /** To whom it was written. */
  readonly to: string;
  readonly released: boolean;
}

/**
 * Letters to others whose text names a person, such as by a comment that they quote. An erasure takes the name out of the
 * data that they were written from; a PDF stays as it was issued.
 */
export async function lettersNaming(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<LetterNaming[]> {
  const people = await everybody(db, conferenceId);
  const person = people.find(({ id }) => id === personId);
  if (!person) return [];
  const withoutName = replacing([person], people, () => '');
  // What may name them by their family name or address; whether it does is for the words' own borders to say.
  const { rows } = await db.query<Omit<LetterNaming, 'title'> & { kind: LetterKind; words: string }>(
    `SELECT l.id, l.kind, s.name AS season, p.given_name || ' ' || p.family_name AS to,
            l.released_at IS NOT NULL AS released, l.data::text || ' ' || l.remark AS words
       FROM letter l
       JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id
       JOIN person p ON p.conference_id = l.conference_id AND p.id = l.person_id
      WHERE l.conference_id = $1 AND l.person_id <> $2
        AND (strpos(lower(l.data::text || l.remark), lower($3)) > 0 OR strpos(lower(l.data::text || l.remark), lower($4)) > 0)
      ORDER BY s.name, "to", l.kind, l.edition`,
    [conferenceId, personId, person.familyName, person.email],
  );
  return rows.flatMap(({ words, kind, ...letter }) =>
    withoutName(words) === words ? [] : [{ ...letter, title: kindTitles[kind] }],
  );
}
