import type pg from 'pg';
import { inTransaction } from '../database/transaction.ts';
import { mailFailure, retryAfterMinutes } from '../mail/failure.ts';
import type { Mailer } from '../mail/mailer.ts';
import { letterFileName } from './kept-letters.ts';
import { kindTitles } from './kind-titles.ts';
import type { LetterKind } from './letter-data.ts';

interface Due {
  conferenceId: string;
  letterId: string;
  attached: boolean;
  attempts: number;
  name: string;
  email: string;
  kind: LetterKind;
  edition: number;
  seasonName: string;
  conference: string;
  pdf: Buffer;
}

/**
 * Sends the next released letter that is due. A row lock keeps other processes off it. A message may arrive twice
 * when a process dies between sending and noting it; its Message-ID is then the same.
 * @returns false when nothing is due.
 */
export async function sendNext(pool: pg.Pool, mailer: Mailer, address: string): Promise<boolean> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<Due>(
      `SELECT d.conference_id AS "conferenceId", d.letter_id AS "letterId", d.attached, d.attempts,
              p.given_name || ' ' || p.family_name AS name, p.email, l.kind, l.edition, s.name AS "seasonName",
              c.name AS conference, l.pdf
         FROM letter_delivery d
         JOIN letter l ON l.conference_id = d.conference_id AND l.id = d.letter_id
         JOIN person p ON p.conference_id = l.conference_id AND p.id = l.person_id
         JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id
         JOIN conference c ON c.id = l.conference_id
        WHERE d.state = 'waiting' AND d.next_attempt <= now()
        ORDER BY d.next_attempt LIMIT 1 FOR UPDATE OF d SKIP LOCKED`,
    );
    const due = rows[0];
    if (!due) return false;
    try {
      await mailer.send(mailOf(due, address));
      await client.query(
        `UPDATE letter_delivery SET state = 'sent', attempts = attempts + 1, last_error = NULL, sent_at = now()
          WHERE conference_id = $1 AND letter_id = $2`,
        [due.conferenceId, due.letterId],
      );
    } catch (error) {
      const { because, lasting } = mailFailure(error);
      const wait = lasting ? undefined : retryAfterMinutes[due.attempts];
      await client.query(
        `UPDATE letter_delivery SET attempts = attempts + 1, last_error = $3,
                state = CASE WHEN $4::int IS NULL THEN 'failed' ELSE 'waiting' END,
                next_attempt = now() + coalesce($4::int, 0) * interval '1 minute'
          WHERE conference_id = $1 AND letter_id = $2`,
        [due.conferenceId, due.letterId, because, wait ?? null],
      );
    }
    return true;
  });
}

/** Puts failed and waiting deliveries of a season's letters at once in line again. Returns how many. */
export async function sendAgain(
  pool: pg.Pool,
  conferenceId: string,
  seasonId: string,
  kind: LetterKind,
): Promise<number> {
  const { rowCount } = await pool.query(
    `UPDATE letter_delivery d SET state = 'waiting', attempts = 0, next_attempt = now()
       FROM letter l
      WHERE d.conference_id = $1 AND l.conference_id = d.conference_id AND l.id = d.letter_id
        AND l.season_id = $2 AND l.kind = $3 AND d.state <> 'sent'`,
    [conferenceId, seasonId, kind],
  );
  return rowCount ?? 0;
}

function mailOf(due: Due, address: string) {
  const title = `${kindTitles[due.kind]} ${due.seasonName}${due.edition > 1 ? `, edition ${due.edition}` : ''}`;
  const where = `${address}/my/letters`;
  return {
    to: { name: due.name, address: due.email },
    messageId: `<letter-${due.letterId}@crewmark>`,
    subject: `${due.conference}: your ${title}`,
    text: [
      `Dear ${due.name},`,
      '',
      due.attached
        ? `your ${title} is attached. You also find it, with your plays, after signing in: ${where}`
        : `your ${title} is ready. Sign in to read it: ${where}`,
      '',
      'It is for you alone. A grade is one input to a human decision; the conference’s policy prevails. How to reply, and until when, is in the letter.',
      '',
      due.conference,
    ].join('\n'),
    ...(due.attached && {
      attachments: [{ filename: letterFileName(due), content: due.pdf, contentType: 'application/pdf' }],
    }),
  };
}
