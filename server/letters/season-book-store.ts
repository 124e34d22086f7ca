import { createHash } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import type { Session } from '../accounts/session.ts';
import { notFound } from '../web/problem.ts';
import { dayIn } from '../web/today.ts';
import type { Paper } from './pdf/style.ts';
import { seasonBookOf } from './season-book-of-season.ts';
import { readLetterSeason } from './season-source.ts';
import { readTemplate } from './template-store.ts';

type SeasonBook = { name: string; pdf: Buffer };

/**
 * A season's book. While the season runs it is made anew each time; once it is closed, the book is kept, and is the
 * same ever after (the first who asks for it has it made, should closing have been cut off).
 * @throws Problem 404 when there is no such season.
 */
export async function seasonBook(
  { database, results, letterWriter }: Pick<FastifyInstance, 'database' | 'results' | 'letterWriter'>,
  who: Pick<Session, 'conferenceId' | 'givenName' | 'familyName' | 'timeZone'>,
  seasonId: string,
  paper?: Paper,
): Promise<SeasonBook> {
  const { pool } = database;
  const here = [who.conferenceId, seasonId];
  const kept = await pool.query<{ name: string; pdf: Buffer }>(
    `SELECT s.name, b.pdf FROM season s
       JOIN season_book b ON b.conference_id = s.conference_id AND b.season_id = s.id AND b.closed_at = s.closed_at
      WHERE s.conference_id = $1 AND s.id = $2`,
    here,
  );
  if (kept.rows[0]) return kept.rows[0];
  const season = await readLetterSeason(pool, results, who.conferenceId, seasonId);
  if (!season) throw notFound('season');
  const { body } = await readTemplate(database, who.conferenceId, 'season-book');
  const data = seasonBookOf(season, {
    issuedOn: dayIn(who.timeZone),
    coordinator: `${who.givenName} ${who.familyName}`,
  });
  const written = await letterWriter.pdf('season-book', body, data, paper);
  const book = Buffer.from(written.pdf);
  await pool.query(
    `INSERT INTO season_book (conference_id, season_id, closed_at, sha256, pdf)
     SELECT conference_id, id, closed_at, $3, $4 FROM season
      WHERE conference_id = $1 AND id = $2 AND closed_at IS NOT NULL
     ON CONFLICT DO NOTHING`,
    [...here, createHash('sha256').update(book).digest('hex'), book],
  );
  return { name: season.season.name, pdf: book };
}
