import { once } from 'node:events';
import { createServer } from 'node:net';
import { chromium } from 'playwright-core';
import { startSession } from '../../server/accounts/session.ts';
import type { Database } from '../../server/database/database.ts';
import type { Page } from './eight-pages.ts';
import type { Measurement } from './measurement.ts';

/** What is used of Lighthouse, which is no dependency: 200 packages and 190 MB for one figure. */
interface Lighthouse {
  default(
    url: string,
    flags: {
      port: number;
      extraHeaders?: Record<string, string>;
      onlyCategories: string[];
      logLevel: string;
    },
  ): Promise<{ lhr: Run }>;
}
interface Run {
  categories: { performance: { score: number | null } };
  environment: { benchmarkIndex: number };
  audits: Record<string, { displayValue?: string }>;
}

const goal = 95;
const times = 3;

/**
 * Lighthouse's performance of pages on a telephone, the middle of three, where it is installed beside the packages
 * (`npm install --no-save lighthouse`); else nothing, with a word. It takes the machine for idle: where its own benchmark of
 * it is below 1000, the scores say more of the machine than of the pages.
 */
export async function pageScores(
  address: string,
  pages: Readonly<Record<string, Page>>,
): Promise<Measurement[]> {
  const name = 'lighthouse';
  const lighthouse = (await import(name).catch(() => undefined)) as Lighthouse | undefined;
  if (!lighthouse) {
    console.log('  no scores of pages: npm install --no-save lighthouse');
    return [];
  }
  const port = await freePort();
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', `--remote-debugging-port=${port}`],
  });
  try {
    const figures: Measurement[] = [];
    for (const [page, { path, cookie }] of Object.entries(pages)) {
      const runs: Run[] = [];
      for (let run = 0; run < times; run += 1) {
        const { lhr } = await lighthouse.default(address + path, {
          port,
          ...(cookie && { extraHeaders: { Cookie: cookie } }),
          onlyCategories: ['performance'],
          logLevel: 'error',
        });
        runs.push(lhr);
      }
      const scoreOf = (run: Run) => 100 * (run.categories.performance.score ?? 0);
      const middle = runs.sort((one, other) => scoreOf(one) - scoreOf(other))[Math.floor(times / 2)]!;
      const { audits, environment } = middle;
      const told = ['largest-contentful-paint', 'total-blocking-time', 'cumulative-layout-shift'];
      const said = told.map((audit) => `${audit} ${audits[audit]?.displayValue ?? '?'}`).join(', ');
      figures.push({
        name: `pages: Lighthouse performance of ${page} (${said}; machine ${environment.benchmarkIndex})`,
        value: Math.round(scoreOf(middle)),
        unit: 'of 100',
        against: `goal ${goal}`,
        ratio: scoreOf(middle) / goal,
      });
    }
    return figures;
  } finally {
    await browser.close();
  }
}

/** The page that everybody sees first, and what each role does most. */
export async function sixPages(
  { pool }: Database,
  conferenceId: string,
  eight: Readonly<Record<string, Page>>,
): Promise<Record<string, Page>> {
  const { rows } = await pool.query<{ reportId: string; observerId: string }>(
    `SELECT id AS "reportId", observer_id AS "observerId" FROM report
      WHERE conference_id = $1 AND state = 'draft' ORDER BY id LIMIT 1`,
    [conferenceId],
  );
  const { reportId, observerId } = rows[0]!;
  const observer = await startSession(pool, { conferenceId, personId: observerId });
  return {
    'sign-in': { path: '/sign-in', cookie: '' },
    desk: eight.desk!,
    games: eight.games!,
    standings: eight.standings!,
    'entering a report': { path: `/reports/${reportId}/entry`, cookie: `crewmark_session=${observer}` },
    'my evaluation': { path: '/my/evaluation', cookie: eight["an official's marks"]!.cookie },
  };
}

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as { port: number };
  server.close();
  return port;
}
