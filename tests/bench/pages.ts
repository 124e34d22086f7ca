import { Client } from 'undici';
import { startSession } from '../../server/accounts/session.ts';
import { readSeasonGames } from '../../server/schedule/season-overview.ts';
import { withDemoDatabase } from './demo-database.ts';
import { ask, eightPages } from './eight-pages.ts';
import type { Measurement } from './measurement.ts';
import { pageScores, sixPages } from './page-scores.ts';
import { memoryOf, startServer, stop } from './server-process.ts';

const atOnce = 4;
/** BENCH_VIEWS=1000 views fewer, where a figure in between will do. */
const late = Number(process.env.BENCH_VIEWS ?? 10_000);
const early = late / 10;
const goal = 1.2;

/**
 * The season page (every game of a season, each with its kickoff in its venue's zone) viewed again and again by one
 * coordinator over four connections, beside the one query that it shows. Then eight pages of all roles in turn: how many
 * a second, and the memory of the server's process after 10,000 views beside that after 1,000, which tells whether a view
 * leaves something behind. At last how fast six pages are on a telephone, where Lighthouse is installed.
 */
export async function pages(): Promise<Measurement[]> {
  return withDemoDatabase(async (database, _demo, url) => {
    const { rows } = await database.pool.query<{ conferenceId: string; personId: string; seasonId: string }>(
      `SELECT s.conference_id AS "conferenceId", r.person_id AS "personId", s.id AS "seasonId"
         FROM season s JOIN person_role r ON r.conference_id = s.conference_id AND r.role = 'coordinator' LIMIT 1`,
    );
    const { conferenceId, personId, seasonId } = rows[0]!;
    const cookie = `crewmark_session=${await startSession(database.pool, { conferenceId, personId })}`;
    const { child, address } = await startServer(url);
    const clients = Array.from({ length: atOnce }, () => new Client(address));
    try {
      const view = async (worker: number) => {
        const answer = await clients[worker]!.request({
          method: 'GET',
          path: `/seasons/${seasonId}?week=all`,
          headers: { cookie },
        });
        const text = await answer.body.text();
        if (answer.statusCode !== 200 || !text.includes('</html>')) {
          throw new Error(`The season page answered ${answer.statusCode}.`);
        }
      };
      const query = () => readSeasonGames(database.pool, conferenceId, seasonId);
      await perSecond(early, view);
      const bare = await perSecond(early, query);
      const views = await perSecond(early, view);
      const byName = await eightPages(database, conferenceId, seasonId);
      const eight = Object.values(byName);
      let next = 0;
      const inTurn = (worker: number) => ask(clients[worker]!, eight[next++ % eight.length]!);
      await perSecond(early, inTurn);
      const memoryEarly = memoryOf(child);
      const mixed = await perSecond(late - early, inTurn);
      const memoryLate = memoryOf(child);
      const scores = await pageScores(address, await sixPages(database, conferenceId, byName));
      return [
        {
          name: `pages: season page, ${atOnce} at once`,
          value: views,
          unit: 'views/s',
          against: `its query alone, ${bare.toFixed(0)} /s`,
          ratio: views / bare,
        },
        {
          name: `pages: eight pages in turn, ${atOnce} at once`,
          value: mixed,
          unit: 'views/s',
          against: `the season page, ${views.toFixed(0)} /s`,
          ratio: mixed / views,
        },
        {
          name: `pages: memory after ${late} views of eight pages`,
          value: memoryLate,
          unit: 'MB',
          against: `after ${early} views, ${memoryEarly.toFixed(0)} MB (goal ${goal})`,
          ratio: memoryLate / memoryEarly,
        },
        ...scores,
      ];
    } finally {
      for (const client of clients) await client.close();
      await stop(child);
    }
  });
}

/** How many a second when `times` are done by four workers, none pausing. */
async function perSecond(times: number, once: (worker: number) => Promise<unknown>): Promise<number> {
  const begun = performance.now();
  let left = times;
  await Promise.all(
    Array.from({ length: atOnce }, async (_, worker) => {
      while (left-- > 0) await once(worker);
    }),
  );
  return (times * 1000) / (performance.now() - begun);
}
