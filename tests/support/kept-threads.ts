import { EventEmitter } from 'node:events';
import path from 'node:path';
import { Worker as Thread, type WorkerOptions } from 'node:worker_threads';

interface Kept {
  readonly thread: Thread;
  ready: boolean;
  gone: boolean;
}

/** By file and limits: threads that have nothing to do. */
const idle = new Map<string, Kept[]>();

function start(file: URL, options: WorkerOptions): Kept {
  const kept: Kept = { thread: new Thread(file, options), ready: false, gone: false };
  const gone = () => {
    kept.gone = true;
  };
  kept.thread.on('error', gone).on('exit', gone);
  return kept;
}

/** Tests of threads themselves start files of their own, each time anew. */
const isPutTogether = (file: URL) =>
  file.href.startsWith(path.posix.dirname(process.env.CREWMARK_TEST_BUILT ?? 'none'));

/**
 * Stands for a thread of the server's in the tests (`vitest.config.ts`). Closed with nothing to answer, the thread itself
 * goes on, and the next one of its kind that the process asks for is it: started anew for each test file a thread takes
 * most of its time to load and to get going. One that died, or was ended over its work, is gone as ever.
 */
export class Worker extends EventEmitter {
  readonly #idle: Kept[];
  readonly #kept: Kept;
  readonly #mayBeKept: boolean;
  #unanswered = 0;

  constructor(file: URL, options: WorkerOptions) {
    super();
    this.#mayBeKept = isPutTogether(file);
    const kind = `${file.href} ${JSON.stringify(options)}`;
    this.#idle = idle.get(kind) ?? [];
    idle.set(kind, this.#idle);
    let kept = this.#idle.pop();
    while (kept?.gone) kept = this.#idle.pop();
    this.#kept = kept ?? start(file, options);
    this.#kept.thread.ref();
    this.#kept.thread.on('message', this.#onMessage).on('error', this.#onError).on('exit', this.#onExit);
    if (this.#kept.ready) queueMicrotask(() => this.emit('message', { ready: true }));
  }

  postMessage(message: unknown): void {
    this.#unanswered++;
    this.#kept.thread.postMessage(message);
  }

  ref(): void {
    this.#kept.thread.ref();
  }

  unref(): void {
    this.#kept.thread.unref();
  }

  async terminate(): Promise<number> {
    const { thread, gone } = this.#kept;
    if (gone || this.#unanswered > 0 || !this.#mayBeKept) return thread.terminate();
    thread.off('message', this.#onMessage).off('error', this.#onError).off('exit', this.#onExit);
    thread.unref();
    this.#idle.push(this.#kept);
    return 0;
  }

  readonly #onMessage = (message: { ready?: true }) => {
    if (message.ready) this.#kept.ready = true;
    else this.#unanswered--;
    this.emit('message', message);
  };
  readonly #onError = (error: unknown) => this.emit('error', error);
  readonly #onExit = (code: number) => this.emit('exit', code);
}
