import pg from 'pg';
import { Client } from 'undici';
import { startSession } from '../../server/accounts/session.ts';
import type { Database } from '../../server/database/database.ts';
import { copyConferences } from './copied-conferences.ts';
import { withDemoDatabase } from './demo-database.ts';
import type { Measurement } from './measurement.ts';
import { startServer, stop } from './server-process.ts';

/** BENCH_CONFERENCES=10 makes fewer copies, for a machine with little room: a season takes some 30 MB. */
const conferences = Number(process.env.BENCH_CONFERENCES ?? 100);
const seasons = 5;
const goal = 1.2;
const rounds = 25;

/**
 * Eight pages of one conference, and its standings after a change, alone in its database and beside 100 conferences of
 * five seasons each. The pages of both are asked for by the same process, warmed up alike.
 */
export async function conferencesBench(): Promise<Measurement[]> {
  return withDemoDatabase(async (database, { conferenceId, seasonId }, url) => {
    const { child, address } = await startServer(url);
    const client = new Client(address);
    try {
      const pages = await pagesOf(database, conferenceId, seasonId);
      const change = () =>
        database.pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [
          seasonId,
        ]);
      const measure = async () => {
        const figures = new Map<string, number>();
        for (const [name, { path, cookie }] of Object.entries(pages))
          figures.set(name, await median(() => ask(client, path, cookie), rounds));
        const standings = pages.standings!;
        const again = () => ask(client, standings.path, standings.cookie);
        figures.set('standings after a change', await median(again, 5, change));
        return figures;
      };
      const alone = await measure();
      const owner = new pg.Client({ connectionString: url });
      await owner.connect();
      const begun = performance.now();
      await copyConferences(owner, { conferences, seasons });
      const made = (performance.now() - begun) / 1000;
      await owner.end();
      const among = await measure();
      const beside = `${conferences} conferences of ${seasons} seasons`;
      return [
        ...[...among].map(([name, value]) => ({
          name: `conferences: ${name}, beside ${beside}`,
          value,
          unit: 'ms',
          against: `alone, ${alone.get(name)!.toFixed(1)} ms (goal ${goal})`,
          ratio: value / alone.get(name)!,
        })),
        { name: `conferences: copying ${beside}`, value: made, unit: 's', against: null, ratio: null },
      ];
    } finally {
      await client.close();
      await stop(child);
    }
  });
}

/** What each role opens most, signed in. */
async function pagesOf({ pool }: Database, conferenceId: string, seasonId: string) {
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
    desk: { path: '/', cookie: coordinator },
    games: { path: `/seasons/${seasonId}?week=all`, cookie: coordinator },
    plays: { path: `/seasons/${seasonId}/plays`, cookie: coordinator },
    standings: { path: `/seasons/${seasonId}/standings`, cookie: coordinator },
    patterns: { path: `/seasons/${seasonId}/patterns`, cookie: coordinator },
    'one official': { path: `/seasons/${seasonId}/officials/${person}`, cookie: coordinator },
    "an observer's desk": { path: '/', cookie: observer },
    "an official's marks": { path: '/my/marks', cookie: official },
  } as Record<string, { path: string; cookie: string }>;
}

async function ask(client: Client, path: string, cookie: string): Promise<void> {
  const answer = await client.request({ method: 'GET', path, headers: { cookie } });
  const text = await answer.body.text();
  if (answer.statusCode !== 200)
    throw new Error(`${path} answered ${answer.statusCode}: ${text.slice(0, 200)}`);
}

/** In ms, after as many times again untimed; `prepare` is not timed. */
async function median(
  work: () => Promise<unknown>,
  times: number,
  prepare?: () => Promise<unknown>,
): Promise<number> {
  const taken: number[] = [];
  for (let i = -times; i < times; i += 1) {
    await prepare?.();
    const begun = performance.now();
    await work();
    if (i >= 0) taken.push(performance.now() - begun);
  }
  return taken.sort((a, b) => a - b)[Math.floor(times / 2)]!;
}
