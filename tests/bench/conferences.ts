import pg from 'pg';
import { Client } from 'undici';
import { copyConferences } from './copied-conferences.ts';
import { withDemoDatabase } from './demo-database.ts';
import { ask, eightPages } from './eight-pages.ts';
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
      const pages = await eightPages(database, conferenceId, seasonId);
      const change = () =>
        database.pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [
          seasonId,
        ]);
      const measure = async () => {
        const figures = new Map<string, number>();
        for (const [name, page] of Object.entries(pages))
          figures.set(name, await median(() => ask(client, page), rounds));
        const again = () => ask(client, pages.standings!);
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
