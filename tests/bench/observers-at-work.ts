import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { Client } from 'undici';
import type { DemoMark } from '../../seed-demo/marks.ts';
import { makeDemoSeason } from '../../seed-demo/season.ts';
import { applicationSignIn, ownerSignIn } from '../../server/database/application-role.ts';
import { connect, openDatabase } from '../../server/database/database.ts';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { observerWithReport } from '../support/observer-with-report.ts';
import { startServer, stop } from './server-process.ts';

export const observersAtOnce = 20;

/** One observer with their own game of 165 plays, an open report, and a signed-in connection to the server. */
export interface ObserverAtWork {
  readonly reportId: string;
  readonly gameId: string;
  readonly observerId: string;
  readonly playIds: readonly string[];
  readonly crew: Readonly<Record<string, string>>;
  /** Posts to the server; gives the seconds it took. @throws when the answer is not 200. */
  post(path: string, body: object): Promise<number>;
}

interface Workplace {
  readonly game: OneGame;
  /** What an observer of the demo season marked in this game; `play` counts from 1. */
  readonly marks: readonly DemoMark[];
  readonly observers: readonly ObserverAtWork[];
  /** Connections for the bare transactions, as the application's role, one per observer. */
  readonly bare: readonly pg.Client[];
}

/** A real server in a process of its own on a database of its own, twenty observers of one conference at work. */
export async function atWork<Result>(work: (place: Workplace) => Promise<Result>): Promise<Result> {
  const dataDir = await mkdtemp(path.join(os.tmpdir(), 'crewmark-bench-'));
  const postgres = await startEmbeddedPostgres(dataDir);
  const undo: (() => unknown)[] = [];
  try {
    await (await openDatabase(postgres.url)).close();
    const database = connect(postgres.url);
    undo.push(() => database.close());
    const { log, marks } = wholeGame();
    const game = await oneGame(database.pool, log);
    const { child, address } = await startServer(postgres.url);
    undo.push(() => stop(child));
    const observers: ObserverAtWork[] = [];
    const bare: pg.Client[] = [];
    for (let number = 0; number < observersAtOnce; number++) {
      // A client that costs little: it shares the processors with what is measured.
      const http = new Client(address);
      undo.push(() => http.close());
      observers.push(await newObserver(database.pool, game, number, http));
      const client = new pg.Client(applicationSignIn(ownerSignIn(postgres.url)));
      await client.connect();
      undo.push(() => client.end());
      bare.push(client);
    }
    return await work({ game, marks, observers, bare });
  } finally {
    for (const step of undo.reverse()) await step();
    await postgres.stop();
    await rm(dataDir, { recursive: true, force: true });
  }
}

const playsLogged = 165;
const mostMarks = 60;

/** A game of the demo season as a report has it: 165 plays with all their facts, up to 60 marks. */
function wholeGame() {
  const season = makeDemoSeason();
  for (const report of season.reports) {
    const log = season.plays.get(report.game) ?? [];
    const marks = report.marks.filter(({ play }) => play <= playsLogged).slice(0, mostMarks);
    if (log.length >= playsLogged && marks.length === mostMarks) {
      return { log: log.slice(0, playsLogged).map(({ play }) => play), marks };
    }
  }
  throw new Error(`No demo report has ${playsLogged} plays and ${mostMarks} marks.`);
}

async function newObserver(
  pool: pg.Pool,
  game: OneGame,
  number: number,
  http: Client,
): Promise<ObserverAtWork> {
  const { headers, ...observer } = await observerWithReport(pool, game, number);
  return { ...observer, post: (path, body) => timedPost(http, path, body, headers) };
}

async function timedPost(
  client: Client,
  path: string,
  body: object,
  headers: Record<string, string>,
): Promise<number> {
  const begun = performance.now();
  const answer = await client.request({ method: 'POST', path, headers, body: JSON.stringify(body) });
  const text = await answer.body.text();
  const seconds = (performance.now() - begun) / 1000;
  if (answer.statusCode !== 200 || text.includes('"refused"')) {
    throw new Error(`${path} answered ${answer.statusCode}: ${text}`);
  }
  return seconds;
}

/** All observers do `once` again and again, each waiting for the one before; seconds of every one, sorted. */
export async function together(
  times: number,
  once: (observer: number, time: number) => Promise<number>,
): Promise<number[]> {
  const all = await Promise.all(
    Array.from({ length: observersAtOnce }, async (_, observer) => {
      const own: number[] = [];
      for (let time = 0; time < times; time++) own.push(await once(observer, time));
      return own;
    }),
  );
  return all.flat().sort((a, b) => a - b);
}

export async function timed(work: () => Promise<unknown>): Promise<number> {
  const begun = performance.now();
  await work();
  return (performance.now() - begun) / 1000;
}

export const percentile = (sorted: readonly number[], share: number) =>
  sorted[Math.min(sorted.length - 1, Math.ceil(sorted.length * share) - 1)]!;
