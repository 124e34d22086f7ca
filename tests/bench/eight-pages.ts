import type { Client } from 'undici';
import { startSession } from '../../server/accounts/session.ts';
import type { Database } from '../../server/database/database.ts';

export interface Page {
  readonly path: string;
  readonly cookie: string;
}

/** What each role opens most, signed in. */
export async function eightPages(
  { pool }: Database,
  conferenceId: string,
  seasonId: string,
): Promise<Record<string, Page>> {
  const one = async (sql: string) =>
    (await pool.query<{ id: string }>(sql, [conferenceId, seasonId])).rows[0]!.id;
  const cookieOf = async (role: string) => {
    const { rows } = await pool.query<{ id: string }>(
      `SELECT r.person_id AS id FROM person_role r
         LEFT JOIN LATERAL (SELECT count(*) AS n FROM game_count c
                             WHERE c.conference_id = r.conference_id AND c.person_id = r.person_id) c ON true
        WHERE r.conference_id = $1 AND r.role = $2 ORDER BY c.n DESC, 1 LIMIT 1`,
      [conferenceId, role],
    );
    return `crewmark_session=${await startSession(pool, { conferenceId, personId: rows[0]!.id })}`;
  };
  const [coordinator, observer, official] = [
    await cookieOf('coordinator'),
    await cookieOf('observer'),
    await cookieOf('official'),
  ];
  const person = await one(
    `SELECT person_id AS id FROM game_count c JOIN game g ON g.conference_id = c.conference_id AND g.id = c.game_id
      WHERE g.conference_id = $1 AND g.season_id = $2 ORDER BY 1 LIMIT 1`,
  );
  return {
    desk: { path: '/desk', cookie: coordinator },
    games: { path: `/seasons/${seasonId}?week=all`, cookie: coordinator },
    plays: { path: `/seasons/${seasonId}/plays`, cookie: coordinator },
    standings: { path: `/seasons/${seasonId}/standings`, cookie: coordinator },
    patterns: { path: `/seasons/${seasonId}/patterns`, cookie: coordinator },
    'one official': { path: `/seasons/${seasonId}/officials/${person}`, cookie: coordinator },
    "an observer's desk": { path: '/desk', cookie: observer },
    "an official's marks": { path: '/my/marks', cookie: official },
  } as Record<string, Page>;
}

/** @throws Error when it is not answered with a page */
export async function ask(client: Client, { path, cookie }: Page): Promise<void> {
  const answer = await client.request({ method: 'GET', path, headers: { cookie } });
  const text = await answer.body.text();
  if (answer.statusCode !== 200)
    throw new Error(`${path} answered ${answer.statusCode}: ${text.slice(0, 200)}`);
}
