import { type DemoSignIn, demoIsLoaded, demoPassword, loadDemo } from '../seed-demo/load.ts';
import { holdsAnotherConference, readDemoSignIns } from '../seed-demo/sign-ins.ts';
import { hashPassword } from './accounts/password.ts';
import { buildApp } from './app.ts';
import { readConfig } from './config.ts';
import { type Database, openDatabase, refreshStatistics } from './database/database.ts';
import { startEmbeddedPostgres } from './database/embedded.ts';
import { StartupError } from './database/startup-error.ts';

const say = (line: string) => process.stdout.write(`${line}\n`);

/** Undone in reverse order, once, however the process ends. */
const undo: Array<() => Promise<unknown>> = [];
let stopping = false;

async function stop(code: number): Promise<never> {
  for (const step of undo.reverse()) {
    await step().catch((error) => process.stderr.write(`While stopping: ${(error as Error).message}\n`));
  }
  process.exit(code);
}

async function start(): Promise<void> {
  const config = readConfig(process.env);
  let url = config.DATABASE_URL;
  if (!url) {
    say('Starting the database');
    const embedded = await startEmbeddedPostgres(config.DATA_DIR, say);
    undo.push(() => embedded.stop());
    if (embedded.adopted) say('Took over the database of an earlier process');
    url = embedded.url;
  }
  if (stopping) return;
  const database = await openDatabase(url, say);
  undo.push(() => database.close());
  if (stopping) return;

  const signIns = config.DEMO ? await demoSignIns(database, url) : null;
  if (stopping) return;

  const app = await buildApp(database, config);
  undo.push(() => app.close());
  try {
    const address = await app.listen({ port: config.PORT, host: config.HOST });
    if (signIns) tellSignIns(signIns);
    say(`Crewmark is ready at ${address}`);
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
  if (await holdsAnotherConference(database.pool)) return null;
  if (!(await demoIsLoaded(database.pool))) {
    await loadDemo(database.pool, say, hashPassword);
    await refreshStatistics(url);
  }
  return readDemoSignIns(database.pool);
}

function tellSignIns(signIns: DemoSignIn[]): void {
  say(`\nThe demo season's sign-ins (password: ${demoPassword})`);
  for (const { role, name, email } of signIns) say(`  ${role.padEnd(12)} ${email}  (${name})`);
  say('');
}

const started = start().catch(async (error) => {
  if (stopping) return;
  stopping = true;
  const message =
    error instanceof StartupError ? error.message : `Crewmark could not start: ${(error as Error).stack}`;
  process.stderr.write(`${message}\n`);
  await stop(1);
});

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
  process.on(signal, () => {
    if (stopping) return;
    stopping = true;
    say('Stopping');
    // A step of the start that is under way ends first, so that nothing it began is left behind.
    void started.then(() => stop(0));
  });
}
