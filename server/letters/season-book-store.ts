import { createHash } from 'node:crypto';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { sessionOf } from '../accounts/policy.ts';
import type { Reading } from '../results/reading.ts';
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
  { database, results, reading, letterWriter }: FastifyInstance,
  request: FastifyRequest,
  seasonId: string,
  paper?: Paper,
): Promise<SeasonBook> {
  const { pool, prisma } = database;
  const { conferenceId, givenName, familyName, timeZone } = sessionOf(request);
  const here = [conferenceId, seasonId];
  const { rows } = await pool.query<{ name: string; isClosed: boolean; isKept: boolean }>(
    `SELECT s.name, s.closed_at IS NOT NULL AS "isClosed", b.season_id IS NOT NULL AS "isKept" FROM season s
       LEFT JOIN season_book b ON b.conference_id = s.conference_id AND b.season_id = s.id AND b.closed_at = s.closed_at
      WHERE s.conference_id = $1 AND s.id = $2`,
    here,
  );
  const season = rows[0];
  if (!season) throw notFound('season');
  if (season.isKept)
    return {
      name: season.name,
      pdf: await reading(request, (from) => readKept(from, conferenceId, seasonId)),
    };

  const readFrom = async (from: Reading) => {
    const whole = await readLetterSeason(from.pool, from.results, conferenceId, seasonId);
    if (!whole) throw notFound('season');
    return { whole, body: (await readTemplate(from, conferenceId, 'season-book')).body };
  };
  // What is kept for good is never made of what a replica has: that may be the season before it was closed.
  const { whole, body } = season.isClosed
    ? await readFrom({ pool, prisma, results })
    : await reading(request, readFrom);
  const data = seasonBookOf(whole, {
    issuedOn: dayIn(timeZone),
    coordinator: `${givenName} ${familyName}`,
  });
  const book = Buffer.from((await letterWriter.pdf('season-book', body, data, paper)).pdf);
  if (season.isClosed)
    await pool.query(
      `INSERT INTO season_book (conference_id, season_id, closed_at, sha256, pdf)
       SELECT conference_id, id, closed_at, $3, $4 FROM season
        WHERE conference_id = $1 AND id = $2 AND closed_at IS NOT NULL
       ON CONFLICT DO NOTHING`,
      [...here, createHash('sha256').update(book).digest('hex'), book],
    );
  return { name: season.name, pdf: book };
}

async function readKept({ pool }: Reading, conferenceId: string, seasonId: string): Promise<Buffer> {
  const { rows } = await pool.query<{ pdf: Buffer }>(
    `SELECT b.pdf FROM season s
       JOIN season_book b ON b.conference_id = s.conference_id AND b.season_id = s.id AND b.closed_at = s.closed_at
      WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  if (!rows[0]) throw notFound('book of this season'); // kept a moment ago: not on the replica yet
  return rows[0].pdf;
}
