import { NotDone } from './editor-link.ts';

export type SaveState =
  | { readonly is: 'saved' | 'waiting' | 'saving' }
  /** It is tried again by itself, unless it was refused. */
  | { readonly is: 'offline' | 'refused' | 'changed by somebody else'; readonly why: string };

/** Keeps the newest of what it is given, one after the other, a moment after the last change. */
export class Autosave<T> {
  state: SaveState = { is: 'saved' };
  #next: { value: T } | undefined;
  #timer: number | undefined;
  #underway: Promise<void> | undefined;

  constructor(
    private readonly save: (value: T) => Promise<void>,
    private readonly onState: (state: SaveState) => void,
    private readonly waitMs = 1200,
  ) {
    window.addEventListener('online', () => void this.now());
    window.addEventListener('beforeunload', (event) => {
      if (this.state.is !== 'saved') event.preventDefault();
    });
  }

  changed(value: T): void {
    this.#next = { value };
    if (this.state.is === 'changed by somebody else') return;
    this.#say({ is: 'waiting' });
    this.#later(this.waitMs);
  }

  /** Nothing of what waits is to be kept. */
  forget(): void {
    this.#next = undefined;
    clearTimeout(this.#timer);
    this.#say({ is: 'saved' });
  }

  /** What is being saved, if anything, until it is or cannot be. */
  get underway(): Promise<void> | undefined {
    return this.#underway;
  }

  /** Saves what waits, after what is being saved; goes on after somebody else's change was decided about. */
  async now(): Promise<void> {
    clearTimeout(this.#timer);
    await this.#underway;
    if (this.#underway || !this.#next) return;
    this.#underway = this.#saveNext(this.#next.value);
    await this.#underway;
  }

  async #saveNext(value: T): Promise<void> {
    this.#next = undefined;
    this.#say({ is: 'saving' });
    try {
      await this.save(value);
      this.#underway = undefined;
      if (this.#next) this.#later(this.waitMs);
      this.#say({ is: this.#next ? 'waiting' : 'saved' });
    } catch (error) {
      this.#underway = undefined;
      this.#next ??= { value };
      this.#failed(error);
    }
  }

  #failed(error: unknown): void {
    const { status, message } = error instanceof NotDone ? error : { status: 0, message: String(error) };
    if (status === 409) this.#say({ is: 'changed by somebody else', why: message });
    else if (status >= 400 && status < 500 && status !== 401) this.#say({ is: 'refused', why: message });
    else {
      this.#say({ is: 'offline', why: message });
      this.#later(4000);
    }
  }

  #later(ms: number): void {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.now(), ms);
  }

  #say(state: SaveState): void {
    this.state = state;
    this.onState(state);
  }
}

export function stateInWords(state: SaveState): string {
  if (state.is === 'saved') return 'Saved';
  if (!('why' in state)) return 'Saving …';
  return state.is === 'offline' ? `Not saved: ${state.why} It is tried again.` : `Not saved: ${state.why}`;
}
