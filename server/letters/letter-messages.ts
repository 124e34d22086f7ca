import type pg from 'pg';
import type { Queryable } from '../database/transaction.ts';
import { mailAgain } from '../messages/mail-trouble.ts';
import type { Prepare } from '../messages/sending.ts';
import { tell } from '../messages/tell.ts';
import { letterFileName } from './kept-letters.ts';
import { kindTitles } from './kind-titles.ts';
import type { LetterKind } from './letter-data.ts';

interface Released {
  readonly letterId: string;
  readonly personId: string;
  readonly kind: LetterKind;
  readonly edition: number;
  readonly seasonName: string;
  /** By mail as well: with the letter attached, or a link to sign in. */
  readonly mail: 'no' | 'link' | 'attached';
}

/** Tells an official of their letter, in the transaction that releases it. */
export async function tellOfLetter(client: Queryable, conferenceId: string, one: Released): Promise<void> {
  await tell(client, {
    conferenceId,
    personIds: [one.personId],
    kind: 'letter',
    aboutId: one.letterId,
    facts: {
      letter: kindTitles[one.kind],
      season: one.seasonName,
      edition: one.edition,
      attached: one.mail === 'attached',
    },
    mail: one.mail !== 'no',
  });
}

/** A mail of a letter holds the letter itself where that was wanted. */
export const prepareLetter: Prepare = async (db, { conferenceId, aboutId, facts, name }) => {
  if (!facts.attached) return {};
  const { rows } = await db.query<{
    pdf: Buffer;
    kind: LetterKind;
    edition: number;
    seasonName: string;
  }>(
    `SELECT l.pdf, l.kind, l.edition, s.name AS "seasonName"
       FROM letter l JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id
      WHERE l.conference_id = $1 AND l.id = $2`,
    [conferenceId, aboutId],
  );
  const letter = rows[0];
  if (!letter) return null;
  const filename = letterFileName({ ...letter, name });
  return { attachments: [{ filename, content: letter.pdf, contentType: 'application/pdf' }] };
};

/** Puts failed and waiting mails of a season's letters at once in line again. Returns how many. */
export async function sendAgain(
  pool: pg.Pool,
  conferenceId: string,
  seasonId: string,
  kind: LetterKind,
): Promise<number> {
  const { rows } = await pool.query<{ id: string }>(
    `SELECT m.id FROM message m JOIN letter l ON l.conference_id = m.conference_id AND l.id = m.about_id
      WHERE m.conference_id = $1 AND m.kind = 'letter' AND l.season_id = $2 AND l.kind = $3
        AND m.mail IN ('waiting', 'failed')`,
    [conferenceId, seasonId, kind],
  );
  return mailAgain(
    pool,
    conferenceId,
    rows.map(({ id }) => id),
  );
}
