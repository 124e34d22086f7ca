import type { FastifyReply, FastifyRequest } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { cookieName } from '../accounts/session-cookie.ts';
import type { Database } from '../database/database.ts';
import { type LogPlace, Replica } from '../database/replica.ts';
import { databaseTrouble } from '../database/trouble.ts';
import { KeptResults } from './kept-result.ts';
import { type SeasonResults, seasonResults } from './season-results.ts';

/** What a page that changes nothing reads from. */
export interface Reading extends Pick<Database, 'pool' | 'prisma'> {
  readonly results: SeasonResults;
}

declare module 'fastify' {
  interface FastifyInstance {
    /** Runs what takes long to read and writes nothing, on the replica where there is one that may be read from. */
    reading<Result>(request: FastifyRequest, work: (from: Reading) => Promise<Result>): Promise<Result>;
    /** The server of READ_DATABASE_URL. */
    replica: Replica | undefined;
  }
}

const harmless = new Set(['GET', 'HEAD', 'OPTIONS']);

/**
 * Longer than what the replica shows may be old: then it has the change in any case. The cookie tells no secret and
 * opens nothing; who alters it sees at worst what others see.
 */
const rememberedSeconds = 60;

/** Where no log is yet: with it the primary is read. */
const beyondAny: LogPlace = 'FFFFFFFF/FFFFFFFF';

/**
 * Sends heavy reading to READ_DATABASE_URL. A browser that changed something carries in a cookie where the log was then,
 * and is shown nothing older. Programs with a token carry none and read from the primary.
 */
export const readingPlugin = fastifyPlugin(async (app) => {
  const { database, results, settings } = app;
  const primary: Reading = { pool: database.pool, prisma: database.prisma, results };
  const url = settings.READ_DATABASE_URL;
  if (url === undefined) {
    app.decorate('replica', undefined);
    app.decorate('reading', (_request, work) => work(primary));
    return;
  }

  const replica = new Replica(database.pool, url, (reason) => {
    if (reason === undefined) app.log.info('the replica is read from');
    else app.log.warn({ reason }, 'the replica is not read from; the primary is');
  });
  const onReplica: Reading = {
    pool: replica.pool,
    prisma: replica.prisma,
    results: seasonResults(replica.pool, app.calculator, KeptResults.asKeptOn(replica.pool)),
  };
  app.decorate('replica', replica);
  app.decorate('reading', async (request, work) => {
    const since: LogPlace | undefined = request.cookies[cookieName(request, 'written')];
    if (!harmless.has(request.method) || request.session?.token || !(await replica.mayBeRead(since)))
      return work(primary);
    try {
      return await work(onReplica);
    } catch (error) {
      // Cut off, cancelled because the log went on (PostgreSQL manual, 26.4.2), or not there yet, be it a letter or a
      // result: all of it is read from the primary.
      if (databaseTrouble(error) !== undefined) replica.failed();
      return work(primary);
    }
  });
  app.addHook('onSend', async (request, reply, payload) => {
    if (!harmless.has(request.method)) await rememberChange(request, reply);
    return payload;
  });
  app.addHook('onListen', async () => replica.watch());
  app.addHook('onClose', () => replica.close());

  async function rememberChange(request: FastifyRequest, reply: FastifyReply) {
    const place = await database.asking
      .query<{ place: string }>({
        name: 'log-place',
        text: 'SELECT pg_current_wal_insert_lsn()::text AS place',
      })
      .then(({ rows }) => rows[0]!.place)
      .catch(() => beyondAny); // the answer stands all the same
    reply.setCookie(cookieName(request, 'written'), place, {
      path: '/',
      httpOnly: true,
      sameSite: 'lax',
      secure: request.protocol === 'https',
      maxAge: rememberedSeconds,
    });
  }
});
