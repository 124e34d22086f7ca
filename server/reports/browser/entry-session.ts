import { v7 as uuidv7 } from 'uuid';
import { mostChangesAtOnce } from '../entry/change-limit.ts';
import type { Change } from '../entry/changes.ts';
import type { EntrySnapshot } from '../entry/entry-snapshot.ts';
import { type EntryState, inverseOf, withChanges } from '../entry/entry-state.ts';
import type { SetAside } from './device-database.ts';
import { type Answered, DeviceStore } from './device-store.ts';
import { reused } from './reused.ts';
import { LinkProblem, ServerLink } from './server-link.ts';

/** How things stand between this device and the server. */
interface Sending {
  /** Changes kept here that the server does not have yet. */
  readonly notSent: number;
  /** Why they wait, when something is in the way. */
  readonly waitingFor: LinkProblem['reason'] | undefined;
  readonly message: string;
  /** Of those, how many the disk has not confirmed yet. */
  readonly beingKept: number;
  /** False when this device's storage does not work: then a change is safe only once it is sent. */
  readonly keptHere: boolean;
}

type Undo = { readonly label: string; readonly changes: Change[] };

const shortestWait = 1000;
const longestWait = 15_000;
/** A change at which the server fails so often, while it answers otherwise, is set aside for those behind it. */
const failuresBorne = 3;

/**
 * One report on one device. `record` shows a change at once, keeps it on the disk, and sends it when it can; nothing
 * is taken off the disk before the server has answered for it. Several tabs share the disk, and one of them sends.
 */
export class EntrySession {
  private base: EntrySnapshot | undefined;
  private pending: Change[] = [];
  /** Shown, but not yet on the disk. */
  private unkept: Change[] = [];
  /** Those of `unkept` that the server has answered for before this tab knew them written. */
  private answered = new Set<string>();
  private view: EntryState | undefined;
  private undoable: Undo[] = [];
  /** How often the server failed at a change that was sent alone. */
  private readonly failures = new Map<string, number>();
  private listeners = new Set<() => void>();
  private diskTurn: Promise<unknown> = Promise.resolve();
  private wait = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private tag = '';
  private readonly link: ServerLink;
  private readonly channel: BroadcastChannel;
  setAside: SetAside[] = [];
  /** The report that the server had of this game already; the page has to go there. */
  movedTo: string | undefined;
  sending: Sending = { notSent: 0, waitingFor: undefined, message: '', beingKept: 0, keptHere: true };

  private constructor(
    private readonly reportId: string,
    private readonly store: DeviceStore | undefined,
  ) {
    this.link = new ServerLink(reportId);
    this.channel = new BroadcastChannel(`crewmark-entry-${reportId}`);
    this.channel.onmessage = () => void this.readDisk();
    window.addEventListener('online', () => this.hurry());
    window.addEventListener('beforeunload', (event) => {
      if (this.sending.beingKept > 0) event.preventDefault();
    });
    // What is being typed is kept as if its field were left: a reload takes no half sentence with it.
    window.addEventListener('pagehide', () => {
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    });
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.hurry();
    });
    setInterval(() => {
      if (document.visibilityState === 'visible') this.hurry();
    }, 20_000);
  }

  /** `personId`: who works on it, as the page says. */
  static async start(reportId: string, personId: string): Promise<EntrySession> {
    const store = await DeviceStore.open(reportId, personId).catch(() => undefined);
    const session = new EntrySession(reportId, store);
    // So that a device short of space does not throw away what has not been sent.
    void navigator.storage?.persist?.().catch(() => false);
    if (!store) session.sending = { ...session.sending, keptHere: false };
    await session.readDisk();
    await session.exchange();
    return session;
  }

  /** The report with everything entered here; undefined until it has been loaded once on this device. */
  get state(): EntryState | undefined {
    return this.view;
  }

  /** What undo would take back, in words. */
  get undoLabel(): string | undefined {
    return this.undoable.at(-1)?.label;
  }

  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Shows, keeps and sends changes, in this order. */
  record(label: string, ...changes: Change[]): void {
    const undo: Change[] = [];
    const based: Change[] = [];
    let before = this.view;
    for (const change of changes) {
      if (!before) return;
      based.push(basedOnWhat(before, change));
      undo.unshift(...inverseOf(before, change, uuidv7));
      before = withChanges(before, [change]);
    }
    if (undo.length > 0) this.undoable = [...this.undoable.slice(-49), { label, changes: undo }];
    this.keep(based);
  }

  undo(): string | undefined {
    const last = this.undoable.pop();
    if (!last) return undefined;
    // Made when the step was recorded; since then the row may have been touched again, here.
    const view = this.view;
    this.keep(view ? last.changes.map((change) => basedOnWhat(view, change)) : last.changes);
    return last.label;
  }

  /** The observer's choice between two versions. */
  resolve(conflictId: string, keep: 'mine' | 'theirs', basedOn: string | null): void {
    this.keep([{ kind: 'resolve', id: uuidv7(), conflictId, keep, basedOn }]);
  }

  async dropSetAside(item: SetAside): Promise<void> {
    if (this.store) await this.store.dropSetAside(item.changeId);
    else this.setAside = this.setAside.filter((other) => other !== item);
    await this.readDisk();
    this.show();
    this.channel.postMessage('changed');
  }

  /** Sends a set-aside change once more under a new id, as it was or as the observer mended it. */
  async tryAgain(item: SetAside, mended: Change = item.change): Promise<void> {
    const renewed = { ...mended, id: uuidv7() };
    const again = this.view ? basedOnWhat(this.view, renewed) : renewed;
    if (!this.store) {
      this.setAside = this.setAside.filter((other) => other !== item);
      return this.keep([again]);
    }
    await this.store.sendAgain(item.changeId, again);
    await this.readDisk();
    this.channel.postMessage('changed');
    this.hurry();
  }

  /** Sends what is left and files the report. @throws LinkProblem */
  async file(): Promise<void> {
    await this.exchange();
    if (this.sending.waitingFor || this.sending.notSent > 0)
      throw new LinkProblem('no connection', 'Not everything has been sent yet.');
    await this.link.file();
    await this.exchange();
  }

  private keep(changes: Change[]): void {
    this.unkept.push(...changes);
    this.show();
    // Not behind what else waits for the disk: until this is written, a closed tab would lose it.
    const written = this.store?.add(changes) ?? Promise.resolve();
    const kept = written.then(() =>
      this.onDisk(async () => {
        if (!this.store) return;
        const known = new Set(this.pending.map((change) => change.id));
        this.unkept = this.unkept.filter((change) => !changes.includes(change));
        this.pending.push(
          ...changes.filter((change) => !known.has(change.id) && !this.answered.has(change.id)),
        );
        for (const change of changes) this.answered.delete(change.id);
      }),
    );
    void kept
      .catch(() => {
        this.sending = { ...this.sending, keptHere: false };
      })
      .then(() => {
        this.show();
        this.channel.postMessage('changed');
        this.wait = 0;
        return this.exchange();
      });
  }

  private onDisk<Result>(work: () => Promise<Result>): Promise<Result> {
    const turn = this.diskTurn.then(work, work);
    this.diskTurn = turn.catch(() => undefined);
    return turn;
  }

  private readDisk(): Promise<void> {
    return this.onDisk(async () => {
      if (!this.store) return;
      const kept = await this.store.read();
      this.base = kept.snapshot;
      this.tag = kept.tag;
      this.pending = kept.pending;
      this.setAside = kept.setAside;
      this.show();
    });
  }

  private show(): void {
    // What was just written may have been read back already, or even sent.
    const known = new Set(this.pending.map((change) => change.id));
    const unwritten = this.unkept.filter((change) => !known.has(change.id) && !this.answered.has(change.id));
    // Kept, sent and read back, it is the same report in other objects: the page need not find anything anew.
    this.view = this.base
      ? reused(this.view, withChanges(this.base, [...this.pending, ...unwritten]))
      : undefined;
    this.sending = {
      ...this.sending,
      notSent: this.pending.length + unwritten.length,
      beingKept: this.store ? unwritten.length : 0,
    };
    for (const listener of this.listeners) listener();
  }

  private hurry(): void {
    this.wait = 0;
    void this.exchange();
  }

  /** Sends all that waits, then asks what is new. One tab of the device at a time. */
  private async exchange(): Promise<void> {
    clearTimeout(this.timer);
    try {
      await navigator.locks.request(`crewmark-send-${this.reportId}`, async () => {
        // After sends that were all applied, the view is what the server has: nothing to ask.
        let ask = true;
        let differs = false;
        await this.openIfBegunHere();
        for (;;) {
          await this.readDisk();
          const waiting = this.store ? this.pending : [...this.unkept];
          if (waiting.length === 0) break;
          ask = false;
          const answers = await this.sendSome(waiting.slice(0, mostChangesAtOnce));
          if (answers.some((answer) => answer.outcome !== 'applied')) differs = true;
          await this.onDisk(async () => {
            for (const change of this.unkept) {
              if (answers.some((answer) => answer.change.id === change.id)) this.answered.add(change.id);
            }
            if (this.store) return this.store.settle(answers);
            this.forget(answers);
          });
        }
        if (ask || differs || !this.base) await this.refresh();
        await this.readDisk();
      });
      this.wait = 0;
      this.sending = { ...this.sending, waitingFor: undefined, message: '' };
      this.show();
      this.channel.postMessage('changed');
    } catch (error) {
      const problem =
        error instanceof LinkProblem ? error : new LinkProblem('no connection', (error as Error).message);
      this.sending = { ...this.sending, waitingFor: problem.reason, message: problem.message };
      this.show();
      this.wait = Math.min(longestWait, this.wait === 0 ? shortestWait : this.wait * 2);
      this.timer = setTimeout(() => void this.exchange(), this.wait * (0.75 + Math.random() / 2));
    }
  }

  /** A report that was begun without a network is opened first, under the id that this device gave it. */
  private async openIfBegunHere(): Promise<void> {
    const gameId = await this.store?.toOpen();
    if (!gameId) return;
    const known = await this.link.open(gameId);
    await this.store?.openedAs(gameId, known);
    // Begun elsewhere meanwhile: what was entered here waits under that report now.
    if (known !== this.reportId) this.movedTo = known;
    if (this.movedTo)
      throw new LinkProblem('moved', 'This report was begun on another device; opening it ...');
  }

  private async sendSome(changes: readonly Change[]): Promise<Answered[]> {
    try {
      const results = await this.link.send(changes);
      return results.map((result, at) => ({
        change: changes[at]!,
        outcome: result.outcome,
        message: result.message,
      }));
    } catch (error) {
      if (!(error instanceof LinkProblem)) throw error;
      if (error.reason === 'closed') {
        return changes.map((change) => ({ change, outcome: 'refused', message: error.message }));
      }
      if (error.reason !== 'not valid' && error.reason !== 'failed') throw error;
      // One change spoils the batch: each on its own, so that only that one is set aside.
      if (changes.length > 1) return this.sendSome(changes.slice(0, 1));
      const change = changes[0]!;
      if (error.reason === 'failed' && !(await this.isToBlame(change))) throw error;
      return [{ change, outcome: 'refused', message: error.message }];
    }
  }

  /** Whether the server fails at this change again and again, and at nothing else. */
  private async isToBlame(change: Change): Promise<boolean> {
    const failures = (this.failures.get(change.id) ?? 0) + 1;
    this.failures.set(change.id, failures);
    if (failures < failuresBorne) return false;
    await this.link.snapshot('');
    return true;
  }

  private async refresh(): Promise<void> {
    const fresh = await this.link.snapshot(this.tag);
    if (!fresh) return;
    await this.onDisk(async () => {
      if (this.store) return this.store.keepSnapshot(fresh.snapshot, fresh.tag);
      this.base = fresh.snapshot;
      this.tag = fresh.tag;
    });
  }

  /** Without a working disk: what `DeviceStore.settle` does, in memory. */
  private forget(answers: readonly Answered[]): void {
    const answered = new Set(answers.map((answer) => answer.change.id));
    this.unkept = this.unkept.filter((change) => !answered.has(change.id));
    for (const { change, outcome, message } of answers) {
      if (outcome === 'applied' && this.base) this.base = withChanges(this.base, [change]);
      if (outcome === 'refused') {
        const item = { changeId: change.id, reportId: this.reportId, change, message: message ?? '' };
        this.setAside = [...this.setAside, item];
      }
    }
  }
}

/** The change, based on what this device shows of its row just now. */
function basedOnWhat(state: EntryState, change: Change): Change {
  if (change.kind === 'put mark' || change.kind === 'remove mark') {
    const mark = state.marks.find((other) => other.markId === change.markId);
    return mark ? { ...change, basedOn: mark.changeId } : change;
  }
  if (change.kind === 'put play' || change.kind === 'remove play') {
    const play = state.plays.find((other) => other.playId === change.playId);
    return play ? { ...change, basedOn: play.changeId } : change;
  }
  if (change.kind === 'general comment') return { ...change, was: state.report.generalComment };
  if (change.kind === 'watched') return { ...change, was: state.report.watched };
  return change;
}
