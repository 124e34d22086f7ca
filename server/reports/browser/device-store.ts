import type { Change } from '../entry/changes.ts';
import type { EntrySnapshot } from '../entry/entry-snapshot.ts';
import { withChange } from '../entry/entry-state.ts';
import { type DeviceDatabase, openDeviceDatabase, type SetAside } from './device-database.ts';

/** What the device keeps of one report: what the server last said, and the changes it has not yet taken. */
interface Kept {
  readonly snapshot: EntrySnapshot | undefined;
  readonly tag: string;
  readonly pending: Change[];
  readonly setAside: SetAside[];
}

export type Answered = {
  change: Change;
  outcome: 'applied' | 'same' | 'conflict' | 'refused';
  message?: string;
};

/** One report's part of the device's database. Every step is one transaction: a crash leaves all of it or nothing. */
export class DeviceStore {
  private constructor(
    private readonly database: DeviceDatabase,
    private readonly reportId: string,
    private readonly personId: string,
  ) {}

  /** `personId`: who works on it. What was kept for somebody else is not read. */
  static async open(reportId: string, personId: string): Promise<DeviceStore> {
    return new DeviceStore(await openDeviceDatabase(), reportId, personId);
  }

  async read(): Promise<Kept> {
    const transaction = this.database.transaction(['snapshots', 'changes', 'set-aside']);
    const [snapshot, changes, setAside] = await Promise.all([
      transaction.objectStore('snapshots').get(this.reportId),
      transaction.objectStore('changes').index('report').getAll(this.reportId),
      transaction.objectStore('set-aside').index('report').getAll(this.reportId),
    ]);
    await transaction.done;
    if (snapshot?.personId !== undefined && snapshot.personId !== this.personId)
      return { snapshot: undefined, tag: '', pending: [], setAside: [] };
    return {
      snapshot: snapshot?.snapshot,
      tag: snapshot?.tag ?? '',
      pending: changes.map((row) => row.change),
      setAside,
    };
  }

  /** Kept on the disk, in order, when the promise is fulfilled. */
  async add(changes: readonly Change[]): Promise<void> {
    const transaction = this.database.transaction('changes', 'readwrite', { durability: 'strict' });
    for (const change of changes) void transaction.store.add({ reportId: this.reportId, change });
    // Not left to commit itself: the page may be gone before it would.
    transaction.commit();
    await transaction.done;
  }

  async keepSnapshot(snapshot: EntrySnapshot, tag: string): Promise<void> {
    const { reportId, personId } = this;
    await this.database.put('snapshots', { reportId, snapshot, tag, personId });
  }

  /** Takes answered changes off the list: those applied go into the snapshot, those refused are set aside. */
  async settle(answers: readonly Answered[]): Promise<void> {
    const transaction = this.database.transaction(['snapshots', 'changes', 'set-aside'], 'readwrite', {
      durability: 'strict',
    });
    const byId = new Map(answers.map((answer) => [answer.change.id, answer]));
    const kept = await transaction.objectStore('snapshots').get(this.reportId);
    let snapshot = kept?.snapshot;
    let cursor = await transaction.objectStore('changes').index('report').openCursor(this.reportId);
    while (cursor) {
      const { change } = cursor.value;
      const answer = byId.get(change.id);
      if (answer) {
        if (answer.outcome === 'applied' && snapshot) snapshot = withChange(snapshot, change);
        if (answer.outcome === 'refused') {
          await transaction.objectStore('set-aside').put({
            changeId: change.id,
            reportId: this.reportId,
            change,
            message: answer.message ?? 'The server did not take it.',
          });
        }
        await cursor.delete();
      }
      cursor = await cursor.continue();
    }
    // The tag belongs to what the server sent; with changes laid over it, it is asked for again.
    if (kept && snapshot) await transaction.objectStore('snapshots').put({ ...kept, snapshot, tag: '' });
    await transaction.done;
  }

  /** Puts a set-aside change back among those to be sent, as `again`: in one step, so that it cannot be lost between. */
  async sendAgain(changeId: string, again: Change): Promise<void> {
    const transaction = this.database.transaction(['changes', 'set-aside'], 'readwrite', {
      durability: 'strict',
    });
    // Gone: another tab dealt with it.
    if (await transaction.objectStore('set-aside').get(changeId)) {
      await transaction.objectStore('set-aside').delete(changeId);
      await transaction.objectStore('changes').add({ reportId: this.reportId, change: again });
    }
    await transaction.done;
  }

  async dropSetAside(changeId: string): Promise<void> {
    await this.database.delete('set-aside', changeId);
  }

  /** The game of a report that was begun here and that the server does not know yet. */
  async toOpen(): Promise<string | undefined> {
    const game = await this.database.getFromIndex('games', 'report', this.reportId);
    return game && !game.opened && game.personId === this.personId ? game.gameId : undefined;
  }

  /**
   * Notes that the server has the report, under this id. Where it had one already, begun on another device, all that was
   * entered here goes with it: in one step.
   */
  async openedAs(gameId: string, reportId: string): Promise<void> {
    const transaction = this.database.transaction(
      ['games', 'snapshots', 'changes', 'set-aside'],
      'readwrite',
      {
        durability: 'strict',
      },
    );
    const { personId } = this;
    await transaction.objectStore('games').put({ gameId, reportId, personId, opened: true });
    if (reportId !== this.reportId) {
      await transaction.objectStore('snapshots').delete(this.reportId);
      let change = await transaction.objectStore('changes').index('report').openCursor(this.reportId);
      while (change) {
        await change.update({ ...change.value, reportId });
        change = await change.continue();
      }
      let aside = await transaction.objectStore('set-aside').index('report').openCursor(this.reportId);
      while (aside) {
        await aside.update({ ...aside.value, reportId });
        aside = await aside.continue();
      }
    }
    await transaction.done;
  }
}
