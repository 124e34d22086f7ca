import { v7 as uuidv7 } from 'uuid';
import type { EntrySnapshot } from '../entry/entry-snapshot.ts';
import { type DeviceDatabase, type KeptGame, openDeviceDatabase } from './device-database.ts';

/** A game of the list, as the server gave it. */
export interface ListedGame {
  readonly gameId: string;
  /** Undefined while the observer has not begun. */
  readonly reportId: string | undefined;
}

/** How a game stands on this device. */
interface OnDevice {
  readonly reportId: string;
  readonly opened: boolean;
  readonly kept: boolean;
  /** Entered here, and not yet with the server. */
  readonly notSent: number;
}

/** More than an observer has before them at any time; what a device can well keep. */
const mostGames = 16;

/** The games of one person on this device: each can be opened, and begun, without a network once it is kept. */
export class KeptGames {
  private constructor(
    private readonly database: DeviceDatabase,
    private readonly personId: string,
  ) {}

  static async open(personId: string): Promise<KeptGames> {
    return new KeptGames(await openDeviceDatabase(), personId);
  }

  async on(gameId: string): Promise<OnDevice | undefined> {
    const game = await this.mine(gameId);
    if (!game) return undefined;
    const { reportId, opened } = game;
    const [snapshot, notSent] = await Promise.all([
      this.database.get('snapshots', reportId),
      this.database.countFromIndex('changes', 'report', reportId),
    ]);
    return { reportId, opened, kept: snapshot?.personId === this.personId, notSent };
  }

  /** Brings the games up to date with the server, the first ones of the list; `each` is told as it goes. */
  async keep(listed: readonly ListedGame[], each: (gameId: string) => void): Promise<void> {
    await this.forgetOthers();
    for (const game of listed.slice(0, mostGames)) {
      await this.keepOne(game);
      each(game.gameId);
    }
  }

  private async keepOne({ gameId, reportId }: ListedGame): Promise<void> {
    const before = await this.mine(gameId);
    // Begun here without a network, and not yet known there: under the id that it has here.
    const id = reportId ?? before?.reportId ?? uuidv7();
    const game: KeptGame = {
      gameId,
      reportId: before && !before.opened ? before.reportId : id,
      personId: this.personId,
      opened: before && !before.opened ? reportId === before.reportId : reportId !== undefined,
    };
    if ((await this.database.countFromIndex('changes', 'report', game.reportId)) > 0) return;
    const known = await this.database.get('snapshots', game.reportId);
    const address = game.opened
      ? `/api/reports/${game.reportId}/entry`
      : `/api/games/${gameId}/entry?reportId=${game.reportId}`;
    const answer = await fetch(address, {
      headers: known?.tag && known.personId === this.personId ? { 'if-none-match': known.tag } : {},
      cache: 'no-store',
    });
    if (answer.status === 304) return;
    if (!answer.ok) throw new Error(`The server answered ${answer.status}.`);
    const snapshot = (await answer.json()) as EntrySnapshot;
    const tag = answer.headers.get('etag') ?? '';
    const { id: given } = snapshot.report;
    const transaction = this.database.transaction(['games', 'snapshots'], 'readwrite');
    await transaction
      .objectStore('games')
      .put({ ...game, reportId: given, opened: game.opened || given !== game.reportId });
    await transaction
      .objectStore('snapshots')
      .put({ reportId: given, snapshot, tag, personId: this.personId });
    await transaction.done;
  }

  private mine(gameId: string): Promise<KeptGame | undefined> {
    return this.database.get('games', [this.personId, gameId]);
  }

  /** What was kept for somebody else goes, all but what they entered and nobody has sent. */
  private async forgetOthers(): Promise<void> {
    const transaction = this.database.transaction(
      ['games', 'snapshots', 'changes', 'set-aside'],
      'readwrite',
    );
    const waiting = async (reportId: string) =>
      (await transaction.objectStore('changes').index('report').count(reportId)) +
        (await transaction.objectStore('set-aside').index('report').count(reportId)) >
      0;
    for (const { reportId, personId } of await transaction.objectStore('snapshots').getAll()) {
      if (personId === undefined || personId === this.personId || (await waiting(reportId))) continue;
      await transaction.objectStore('snapshots').delete(reportId);
    }
    for (const { gameId, reportId, personId } of await transaction.objectStore('games').getAll()) {
      if (personId === this.personId || (await waiting(reportId))) continue;
      await transaction.objectStore('games').delete([personId, gameId]);
    }
    await transaction.done;
  }
}
