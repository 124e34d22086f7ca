import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { Change } from '../entry/changes.ts';
import type { EntrySnapshot } from '../entry/entry-snapshot.ts';

/** A change that the server will not take as it stands; kept until the observer has dealt with it. */
export interface SetAside {
  readonly changeId: string;
  readonly reportId: string;
  readonly change: Change;
  readonly message: string;
}

/** A game that can be worked on here without a network, and the report that this device has, or would begin, on it. */
export interface KeptGame {
  readonly gameId: string;
  readonly reportId: string;
  /** Whose it is. */
  readonly personId: string;
  /** Whether the server knows the report. */
  readonly opened: boolean;
}

interface KeptSnapshot {
  readonly reportId: string;
  readonly snapshot: EntrySnapshot;
  readonly tag: string;
  /** Whose it is; left out by pages from before that was kept. */
  readonly personId?: string;
}

interface DeviceSchema extends DBSchema {
  snapshots: { key: string; value: KeptSnapshot };
  changes: { key: number; value: { reportId: string; change: Change }; indexes: { report: string } };
  'set-aside': { key: string; value: SetAside; indexes: { report: string } };
  /** Two observers of one game may share a device. */
  games: { key: [personId: string, gameId: string]; value: KeptGame; indexes: { report: string } };
}

export type DeviceDatabase = IDBPDatabase<DeviceSchema>;

/** Everything that this device keeps of reports, of whoever works on it. */
export function openDeviceDatabase(): Promise<DeviceDatabase> {
  return openDB<DeviceSchema>('crewmark-entry', 2, {
    upgrade(database, before) {
      if (before < 1) {
        database.createObjectStore('snapshots', { keyPath: 'reportId' });
        database.createObjectStore('changes', { autoIncrement: true }).createIndex('report', 'reportId');
        database.createObjectStore('set-aside', { keyPath: 'changeId' }).createIndex('report', 'reportId');
      }
      if (before < 2) {
        database
          .createObjectStore('games', { keyPath: ['personId', 'gameId'] })
          .createIndex('report', 'reportId');
      }
    },
    // Another tab has a newer page: it must not wait for this one.
    blocking(_before, _after, event) {
      (event.target as IDBDatabase).close();
    },
  });
}
