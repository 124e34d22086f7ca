import pg from 'pg';
import { Client } from 'undici';
import type { DemoLoad } from '../../seed-demo/load.ts';
import { openDatabase } from '../../server/database/database.ts';
import { copyConferences } from './copied-conferences.ts';
import { withDemoServer } from './demo-database.ts';
import { ask, eightPages } from './eight-pages.ts';
import type { Measurement } from './measurement.ts';
import { startServer, stop } from './server-process.ts';

/** BENCH_CONFERENCES=10 makes fewer copies, for a machine with little room: a season takes some 30 MB. */
const conferences = Number(process.env.BENCH_CONFERENCES ?? 100);
const seasons = 5;
const goal = 1.2;
const rounds = 25;

/**
 * Eight pages of one conference, and its standings after a change, alone in its database and in a copy of it beside 100
 * conferences of five seasons each. Each database has a process of the program; they are asked in turn, so that what
 * else the machine does befalls both.
 */
export async function conferencesBench(): Promise<Measurement[]> {
  return withDemoServer(async (url, demo) => {
    const besideUrl = Object.assign(new URL(url), { pathname: '/beside' }).href;
    await asOwner(url, (owner) => owner.query('CREATE DATABASE beside TEMPLATE crewmark STRATEGY file_copy'));
    const begun = performance.now();
    await asOwner(besideUrl, (owner) => copyConferences(owner, { conferences, seasons }));
    const made = (performance.now() - begun) / 1000;
    const [alone, among] = [await openSite(url, demo), await openSite(besideUrl, demo)];
    try {
      const beside = `${conferences} conferences of ${seasons} seasons`;
      const figures: Measurement[] = [];
      for (const name of [...Object.keys(alone.pages), afterChange]) {
        const times = name === afterChange ? 5 : rounds;
        const [one, other] = await medians([() => alone.view(name), () => among.view(name)], times);
        figures.push({
          name: `conferences: ${name}, beside ${beside}`,
          value: other,
          unit: 'ms',
          against: `alone, ${one.toFixed(1)} ms (goal ${goal})`,
          ratio: other / one,
        });
      }
      figures.push({
        name: `conferences: copying ${beside}`,
        value: made,
        unit: 's',
        against: null,
        ratio: null,
      });
      return figures;
    } finally {
      await alone.close();
      await among.close();
    }
  });
}

const afterChange = 'standings after a change';

async function asOwner(url: string, work: (owner: pg.Client) => Promise<unknown>): Promise<void> {
  const owner = new pg.Client({ connectionString: url });
  await owner.connect();
  try {
    await work(owner);
  } finally {
    await owner.end();
  }
}

/** A process of the program on a database, whose pages are asked for by name; `view` tells how long one took, in ms. */
async function openSite(url: string, { conferenceId, seasonId }: DemoLoad) {
  const database = await openDatabase(url);
  const { child, address } = await startServer(url);
  const client = new Client(address);
  const pages = await eightPages(database, conferenceId, seasonId);
  return {
    pages,
    async view(name: string): Promise<number> {
      if (name === afterChange)
        await database.pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [
          seasonId,
        ]);
      const begun = performance.now();
      await ask(client, pages[name] ?? pages.standings!);
      return performance.now() - begun;
    },
    async close() {
      await client.close();
      await stop(child);
      await database.close();
    },
  };
}

/** Of what each of two took, done in turn after as many times again untimed. */
async function medians(
  [one, other]: readonly [() => Promise<number>, () => Promise<number>],
  times: number,
): Promise<[number, number]> {
  const taken: [number[], number[]] = [[], []];
  for (let i = -times; i < times; i += 1) {
    const now = [await one(), await other()] as const;
    if (i >= 0) for (const which of [0, 1] as const) taken[which].push(now[which]);
  }
  const middle = (list: number[]) => list.sort((a, b) => a - b)[Math.floor(times / 2)]!;
  return [middle(taken[0]), middle(taken[1])];
}
