import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type pg from 'pg';
import { reachableBinaries } from './embedded/binaries.ts';
import { createCluster } from './embedded/cluster.ts';
import { claimServer, connectionUrl, createDatabaseIfMissing, useServer } from './embedded/connection.ts';
import { exists, pause } from './embedded/files.ts';
import { clusterHome, makeWritable, settle } from './embedded/home.ts';
import { adoptRunningServer, type Cluster, postmasterPid, startServer } from './embedded/running-server.ts';
import { serverAccount } from './embedded/server-account.ts';
import { Supervisor, type Told } from './embedded/supervisor.ts';

const run = promisify(execFile);

/** A running PostgreSQL that serves our data folder. */
export type EmbeddedPostgres = {
  /** Connection string of the superuser, database "crewmark". */
  url: string;
  /** True when a server left by an earlier process was taken over rather than started. */
  adopted: boolean;
  /** From now on starts the server again when it dies, until `stop`. */
  supervise(say: (line: string) => void, told: Told): void;
  /** Stops the server, unless another Crewmark process still uses it. */
  stop(): Promise<void>;
  /** Tells the server to stop and does not wait for it. */
  stopAtOnce(): void;
};

/**
 * Starts (or adopts) the embedded PostgreSQL on `dataDir/postgres`, making the cluster on first use.
 *
 * The server is started by PostgreSQL's own `pg_ctl`, in a session of its own, so that Ctrl-C in a terminal reaches
 * this process only and the database outlives the last request. If an earlier process was killed, its server may
 * still run: it is adopted only once a connection with our password shows that it serves exactly our folder.
 *
 * @throws StartupError in one sentence a person can act on.
 */
export async function startEmbeddedPostgres(
  dataDir: string,
  say: (line: string) => void = () => {},
): Promise<EmbeddedPostgres> {
  const account = serverAccount();
  await makeWritable(dataDir);
  let home = await clusterHome(dataDir, account, say);
  const binaries = await reachableBinaries(account, home);
  if (!(await exists(path.join(home, 'postgres', 'PG_VERSION')))) {
    say('Creating the database (first start only)');
    await createCluster(binaries, path.join(home, 'postgres'), path.join(home, 'postgres-password'), account);
    home = await settle(dataDir, home);
  }
  const folder = path.join(home, 'postgres');
  const password = (await readFile(path.join(home, 'postgres-password'), 'utf8')).trim();
  const cluster: Cluster = { binaries, folder, password, account };

  const { adopted, use, ...server } = await serverInUse(cluster);
  let { port } = server;
  await createDatabaseIfMissing(port, password);
  let pid = await postmasterPid(folder);
  let supervisor: Supervisor | undefined;

  return {
    url: connectionUrl(port, password, 'crewmark'),
    adopted,
    supervise(tell, told) {
      supervisor = new Supervisor(cluster, port, tell, (reason, at) => {
        port = at;
        void postmasterPid(folder).then((number) => {
          pid = number;
        });
        told(reason, at);
      });
    },
    async stop() {
      await supervisor?.stop();
      await use.end().catch(() => {});
      const claim = await claimServer(port, password);
      if (!claim) return;
      await run(binaries.pg_ctl, ['-D', folder, '-m', 'fast', '-w', '-t', '60', 'stop'], account)
        .catch(async (error) => {
          // Gone already (stopped by another process at the same moment) is what we wanted.
          if (await exists(path.join(folder, 'postmaster.pid'))) throw error;
        })
        .finally(claim.release);
    },
    stopAtOnce() {
      // SIGINT is PostgreSQL's fast shutdown: transactions are rolled back, what is committed is kept.
      if (pid > 0) process.kill(pid, 'SIGINT');
    },
  };
}

const patience = 60_000;

/**
 * The cluster's server, running and marked as used by us: another process that ends meanwhile, such as a command beside a
 * first start, leaves it. One that is just being stopped is waited for, and started again.
 */
async function serverInUse(cluster: Cluster): Promise<{ port: number; adopted: boolean; use: pg.Client }> {
  for (const deadline = Date.now() + patience; ; ) {
    const running = await adoptRunningServer(cluster);
    const port = running ?? (await startServer(cluster));
    try {
      return { port, adopted: running !== undefined, use: await useServer(port, cluster.password) };
    } catch (error) {
      if (Date.now() > deadline) throw error;
      await pause(200);
    }
  }
}
