import pg from 'pg';
import type { ObserverWithReport } from '../support/observer-with-report.ts';
import { Device, type Heard } from './devices.ts';
import type { SmallDisk } from './disk.ts';
import { type Program, pause } from './program.ts';

type Disturbance = 'connections' | 'database server' | 'program' | 'both' | 'stop signal' | 'disk';

/** How often each is chosen, of 20. */
const shares: Record<Disturbance, number> = {
  connections: 7,
  'database server': 5,
  program: 2,
  both: 3,
  'stop signal': 1,
  disk: 2,
};

export type KillFigures = {
  kills: number;
  kinds: Record<string, number>;
  acknowledged: number;
  lost: number;
  duplicated: number;
  startFailures: number;
  serverErrors: number;
  statuses: Record<string, number>;
  notes: string[];
};

/** Disturbs the program `kills` times while devices save marks, then holds what they were told against the database. */
export async function disturb(
  program: Program,
  observers: readonly ObserverWithReport[],
  kills: number,
  disk: SmallDisk | undefined,
  tell: (line: string) => void,
): Promise<KillFigures> {
  const heard: Heard = { acknowledged: 0, statuses: new Map(), unexpected: [] };
  const devices = observers.map((observer) => new Device(observer, program.address, heard));
  const kinds: Record<string, number> = {};
  const notes: string[] = [];
  let startFailures = 0;
  let going = true;
  const work = Promise.all(devices.map((device) => device.work(() => going)));
  const drawn = (Object.keys(shares) as Disturbance[])
    .filter((kind) => kind !== 'disk' || disk !== undefined)
    .flatMap((kind) => Array<Disturbance>(shares[kind]).fill(kind));
  // Every kind comes once at least, then they come as they fall.
  const order = [...new Set(drawn)];
  for (let number = 0; number < kills; number++) {
    const kind = order[number] ?? drawn[Math.floor(Math.random() * drawn.length)]!;
    kinds[kind] = (kinds[kind] ?? 0) + 1;
    await pause(100 + Math.random() * 700);
    try {
      await disturbances[kind](program, disk);
      if (program.pid === undefined) await program.start();
      // Now and then the next one comes before the last is got over.
      if (Math.random() < 0.8 || number === kills - 1) await program.becomesReady();
    } catch (error) {
      startFailures += 1;
      notes.push(`after ${kind}: ${(error as Error).message}`);
      await disk?.free();
      await program.end('SIGKILL');
      await program.endDatabase();
      await program.start();
    }
    if ((number + 1) % 10 === 0)
      tell(`${number + 1} of ${kills} disturbances, ${heard.acknowledged} changes confirmed`);
  }
  await program.becomesReady();
  going = false;
  await work;
  const { lost, duplicated, what } = await compare(await program.databaseUrl(), devices);
  notes.push(...what, ...heard.unexpected.slice(0, 20));
  const serverErrors = [...heard.statuses].filter(
    ([status]) => status >= 500 && status !== 503 && status !== 507,
  );
  return {
    kills,
    kinds,
    acknowledged: devices.reduce((sum, device) => sum + device.confirmed.size, 0),
    lost,
    duplicated,
    startFailures,
    serverErrors: serverErrors.reduce((sum, [, count]) => sum + count, 0),
    statuses: Object.fromEntries(heard.statuses),
    notes,
  };
}

const disturbances: Record<Disturbance, (program: Program, disk: SmallDisk | undefined) => Promise<unknown>> =
  {
    async connections(program) {
      await asSuperuser(program, (client) =>
        client.query(
          'SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND datname = current_database()',
        ),
      );
    },
    'database server': killPostmaster,
    program: (program) => program.end('SIGKILL'),
    async both(program) {
      await Promise.all([killPostmaster(program), program.end('SIGKILL')]);
    },
    async 'stop signal'(program) {
      const begun = Date.now();
      const code = await program.end('SIGTERM');
      if (code !== 0) throw new Error(`SIGTERM: exit code ${code} after ${Date.now() - begun} ms`);
    },
    async disk(program, disk) {
      await disk!.fill();
      try {
        // New segments of the log are what no longer fits first.
        for (let times = 0; times < 4; times++) {
          await asSuperuser(program, (client) => client.query('SELECT pg_switch_wal()'));
          await pause(300 + Math.random() * 500);
        }
      } finally {
        await disk!.free();
      }
    },
  };

async function killPostmaster(program: Program): Promise<void> {
  const pid = await program.postmaster();
  if (pid <= 1) return;
  try {
    process.kill(pid, 'SIGKILL');
  } catch {
    // Already gone by the disturbance before.
  }
}

/** Does it, unless the database is away just now. */
async function asSuperuser(program: Program, work: (client: pg.Client) => Promise<unknown>): Promise<void> {
  try {
    const client = new pg.Client({
      connectionString: await program.databaseUrl(),
      connectionTimeoutMillis: 5000,
    });
    client.on('error', () => {});
    try {
      await client.connect();
      await work(client);
    } finally {
      await client.end().catch(() => {});
    }
  } catch {
    // Away: disturbed enough.
  }
}

type Kept = { id: string; version: number; change_id: string; finding: string };

async function compare(url: string, devices: readonly Device[]) {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  let lost = 0;
  let duplicated = 0;
  const what: string[] = [];
  try {
    for (const device of devices) {
      const changes = await client.query<{ id: string }>(
        'SELECT id FROM report_change WHERE report_id = $1',
        [device.reportId],
      );
      const there = new Map<string, number>();
      for (const { id } of changes.rows) there.set(id, (there.get(id) ?? 0) + 1);
      for (const id of device.confirmed) {
        const times = there.get(id) ?? 0;
        if (times === 0) lost += 1;
        if (times > 1) duplicated += times - 1;
      }
      const marks = await client.query<Kept>(
        'SELECT id, version, change_id, finding FROM observation WHERE report_id = $1 AND removed_at IS NULL',
        [device.reportId],
      );
      const kept = new Map(marks.rows.map((mark) => [mark.id, mark]));
      duplicated += marks.rows.length - kept.size;
      for (const mark of device.marks.values()) {
        const found = kept.get(mark.markId);
        kept.delete(mark.markId);
        const last = device.confirmed.has(mark.lastChange);
        if (last && (found?.change_id !== mark.lastChange || found.finding !== mark.finding)) {
          lost += 1;
          what.push(
            `mark ${mark.markId}: last ${mark.lastChange} ${mark.finding}, kept ${JSON.stringify(found)}`,
          );
        }
        // Each change raises the version once: a change applied twice shows.
        if (found !== undefined && found.version > mark.changes) {
          duplicated += found.version - mark.changes;
          what.push(`mark ${mark.markId}: version ${found.version} after ${mark.changes} changes`);
        }
      }
      duplicated += kept.size;
    }
  } finally {
    await client.end();
  }
  return { lost, duplicated, what: what.slice(0, 20) };
}
