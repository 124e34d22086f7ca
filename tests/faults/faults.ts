import { chmod, mkdir, mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { connect } from '../../server/database/database.ts';
import { oneGame } from '../reports/one-game.ts';
import { observerWithReport } from '../support/observer-with-report.ts';
import { smallDisk } from './disk.ts';
import { disturb, type KillFigures } from './kills.ts';
import { Program } from './program.ts';
import { ask, type RequestFigures } from './requests.ts';

const devices = 6;
/** Large enough for PostgreSQL's log to grow and be recycled, small enough to be filled at once. */
const diskMegabytes = 700;

/** What `npm run faults -- --json FILE` writes. */
type Faults = {
  kills: number;
  acknowledged: number;
  lost: number;
  duplicated: number;
  startFailures: number;
  requests: number;
  serverErrors: number;
  foreign: number;
};

type Findings = { figures: Faults; killing: KillFigures; asking: RequestFigures; diskTried: boolean };

/** Disturbs the program while devices save, then asks it everything that it should refuse. On loopback only. */
export async function findFaults(
  wanted: { kills: number; requests: number },
  tell: (line: string) => void,
): Promise<Findings> {
  const root = await mkdtemp(path.join(os.tmpdir(), 'crewmark-faults-'));
  await chmod(root, 0o755);
  const dataDir = path.join(root, 'data');
  await mkdir(dataDir, { mode: 0o755 });
  const disk = smallDisk(dataDir, diskMegabytes);
  if (disk === undefined) tell('NOT TRIED: a full disk, since this account may not mount a small one');
  const program = await Program.on(dataDir);
  try {
    await program.start();
    const { game, observers } = await prepare(program);
    const killing = await disturb(program, observers, wanted.kills, disk, tell);
    const { acknowledged, lost, duplicated, startFailures } = killing;
    tell(
      `${acknowledged} changes confirmed, ${lost} lost, ${duplicated} doubled; ${startFailures} starts failed`,
    );
    const database = connect(await program.databaseUrl());
    try {
      const asking = await ask(program, database, game, wanted.requests, tell);
      const figures: Faults = {
        kills: killing.kills,
        acknowledged: killing.acknowledged,
        lost: killing.lost,
        duplicated: killing.duplicated,
        startFailures: killing.startFailures,
        requests: asking.requests,
        serverErrors: killing.serverErrors + asking.serverErrors,
        foreign: asking.foreign,
      };
      return { figures, killing, asking, diskTried: disk !== undefined };
    } finally {
      await database.close();
    }
  } finally {
    await disk?.free();
    await program.end('SIGTERM');
    await program.endDatabase();
    disk?.unmount();
    await rm(root, { recursive: true, force: true });
  }
}

async function prepare(program: Program) {
  const database = connect(await program.databaseUrl());
  try {
    const game = await oneGame(database.pool);
    const observers = [];
    for (let number = 0; number < devices; number++) {
      observers.push(await observerWithReport(database.pool, game, number));
    }
    return { game, observers };
  } finally {
    await database.close();
  }
}
