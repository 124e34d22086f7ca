import { type DBSchema, openDB } from 'idb';
import type { Take } from './microphone.ts';

/** A recording that this device keeps until the server has it and the play's cut names it. */
export interface WaitingTake extends Take {
  /** It is to be sent; else it was not listened to yet. */
  readonly wanted: boolean;
  /** The server has it, under this id. */
  readonly sentAs: string | null;
}

interface Schema extends DBSchema {
  takes: { key: [personId: string, address: string]; value: WaitingTake };
}

const open = () =>
  openDB<Schema>('crewmark-narration', 1, {
    upgrade: (database) => {
      database.createObjectStore('takes');
    },
    blocking(_before, _after, event) {
      (event.target as IDBDatabase).close();
    },
  });

/** What a device keeps for one person and one play. Where it keeps nothing, as in a private window, nothing is there. */
export function waitingTake(personId: string, address: string) {
  const key: [string, string] = [personId, address];
  return {
    read: () =>
      open().then(
        (database) => database.get('takes', key),
        () => undefined,
      ),
    keep: (take: WaitingTake) =>
      open().then(
        (database) => database.put('takes', take, key).then(() => true),
        () => false,
      ),
    forget: () =>
      open().then(
        (database) => database.delete('takes', key),
        () => {},
      ),
  };
}
