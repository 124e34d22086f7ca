import type { FastifyInstance } from 'fastify';
import type { DemoSignIn } from '../seed-demo/load.ts';
import { readConfig } from './config.ts';
import { type Database, openDatabase, refreshStatistics } from './database/database.ts';
import { type EmbeddedPostgres, startEmbeddedPostgres } from './database/embedded.ts';
import { StartupError } from './database/startup-error.ts';
import { Stopping, watchNpm } from './stopping.ts';
import { endByUncaughtErrors } from './web/end-by-error.ts';
import { errorForLog } from './web/error-for-log.ts';
import { sweepUploads } from './web/upload-folder.ts';

const say = (line: string) => process.stdout.write(`${line}\n`);

const stopping = new Stopping();

async function start(): Promise<void> {
  const config = readConfig(process.env);
  // Most of the program is loaded while the database starts, and not at all for a setting that cannot be used.
  const application = import('./app.ts');
  application.catch(() => {}); // told where it is awaited
  let url = config.DATABASE_URL;
  let embedded: EmbeddedPostgres | undefined;
  await sweepUploads();
  if (!url) {
    say('Starting the database');
    embedded = await startEmbeddedPostgres(config.DATA_DIR, say);
    const server = embedded;
    stopping.undo(() => server.stop());
    stopping.atOnce(() => server.stopAtOnce());
    if (embedded.adopted) say('Took over the database of an earlier process');
    url = embedded.url;
  }
  if (stopping.begun) return;
  const database = await openDatabase(url, say);
  stopping.undo(() => database.close());
  stopping.giveUp(() => database.abandon());
  stopping.limit();
  embedded?.supervise(say, (reason, port) => {
    database.outage.reason = reason;
    database.moveTo(port);
  });
  if (stopping.begun) return;

  const signIns = config.DEMO ? await demoSignIns(database, url) : null;
  if (stopping.begun) return;

  const { buildApp } = await application;
  const app = await buildApp(database, config);
  stopping.undo(() => app.close());
  stopping.giveUp(async () => {
    await new Promise((resolve) => setTimeout(resolve, 1000)); // time to answer that it was given up
    app.server.closeAllConnections();
  });
  try {
    const address = await app.listen({ port: config.PORT, host: config.HOST });
    if (signIns) await tellSignIns(signIns);
    say(`Crewmark is ready at ${address}`);
    if (signIns) void drawDemoFilms(app);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'EADDRINUSE') {
      throw new StartupError(`Port ${config.PORT} on ${config.HOST} is taken; set PORT to another one.`);
    }
    if (code === 'EACCES')
      throw new StartupError(`Port ${config.PORT} may not be used by this account; set PORT above 1023.`);
    if (code === 'EADDRNOTAVAIL' || code === 'ENOTFOUND') {
      throw new StartupError(
        `This machine has no address ${config.HOST}; set HOST to one it has, such as 127.0.0.1.`,
      );
    }
    throw error;
  }
}

/** Loads the demo season, unless the database has it already or holds a conference of someone's own. */
async function demoSignIns(database: Database, url: string): Promise<DemoSignIn[] | null> {
  const { holdsAnotherConference, readDemoSignIns } = await import('../seed-demo/sign-ins.ts');
  if (await holdsAnotherConference(database.pool)) return null;
  const { demoIsLoaded, loadDemo } = await import('../seed-demo/load.ts');
  if (!(await demoIsLoaded(database.pool))) {
    const { hashPassword } = await import('./accounts/password.ts');
    const { gameDayToCome } = await import('../seed-demo/dates.ts');
    await loadDemo(database.pool, say, hashPassword, gameDayToCome(new Date()));
    await refreshStatistics(url);
  }
  return readDemoSignIns(database.pool);
}

/** Behind what people do: nothing waits for it, and an earlier stop is no trouble. */
async function drawDemoFilms(app: FastifyInstance): Promise<void> {
  const stop = new AbortController();
  const { inventFilms } = await import('../seed-demo/films.ts');
  const drawing = inventFilms(app, stop.signal).catch((error: unknown) => {
    if (!stop.signal.aborted) app.log.warn({ err: error }, 'the demo’s films could not be drawn');
  });
  stopping.undo(() => {
    stop.abort();
    return drawing;
  });
}

async function tellSignIns(signIns: DemoSignIn[]): Promise<void> {
  const { demoPassword } = await import('../seed-demo/load.ts');
  say(`\nThe demo season's sign-ins (password: ${demoPassword})`);
  for (const { role, name, email } of signIns) say(`  ${role.padEnd(12)} ${email}  (${name})`);
  say('');
}

/** The database's errors repeat values; what another says is of the program's own surroundings. */
const inLog = (error: Error): string =>
  'severity' in error ? JSON.stringify(errorForLog(error)) : (error.stack ?? error.message);

const started = start().catch(async (error) => {
  if (stopping.begun) return;
  const message =
    error instanceof StartupError ? error.message : `Crewmark could not start: ${inLog(error as Error)}`;
  process.stderr.write(`${message}\n`);
  await stopping.stop(1);
});

endByUncaughtErrors();

/** Once: in order. Again: at once. */
function stop(): void {
  if (stopping.begun) stopping.leave(1);
  say('Stopping');
  void stopping.stop(0, started);
}
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, stop);
watchNpm(() => {
  if (!stopping.begun) stop();
});
