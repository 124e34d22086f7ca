import { Worker } from 'node:worker_threads';

type Waiting<Answer> = { resolve(answer: Answer): void; reject(error: Error): void };

/** A request as the thread gets it. */
export type Numbered<Request> = Request & { readonly id: number };

/** What a thread sends back: the answer to the request of that id, or the sentence of its error. */
export type Reply<Answer> = Numbered<Answer | { readonly error: string }>;

/**
 * Hands requests to one worker thread and their answers back, so that long work never holds up another request.
 * The thread starts on first use and stays; idle, it does not keep the process alive; dead, it is started again.
 */
export class WorkerQueue<Request extends object, Answer extends object> {
  #worker: Worker | null = null;
  #waiting = new Map<number, Waiting<Answer>>();
  #next = 1;

  /** @param stopped what an error begins with when the thread died under a request */
  constructor(
    private readonly thread: URL,
    private readonly stopped: string,
  ) {}

  get started(): boolean {
    return this.#worker !== null;
  }

  /** Requests without an answer yet. */
  get waiting(): number {
    return this.#waiting.size;
  }

  /** @throws Error with the thread's sentence, or when the thread died. */
  ask(request: Request): Promise<Answer> {
    const worker = this.#thread();
    const id = this.#next;
    this.#next += 1;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      worker.ref();
      worker.postMessage({ ...request, id });
    });
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    await worker?.terminate();
  }

  #thread(): Worker {
    if (this.#worker) return this.#worker;
    const worker = new Worker(this.thread, { execArgv: [] });
    worker.on('message', (reply: Reply<Answer>) => {
      const { id, ...rest } = reply;
      const waiting = this.#waiting.get(id);
      this.#waiting.delete(id);
      if (this.#waiting.size === 0) worker.unref();
      if ('error' in rest) waiting?.reject(new Error(rest.error));
      else waiting?.resolve(rest as unknown as Answer);
    });
    const died = (reason: string) => {
      if (this.#worker === worker) this.#worker = null;
      for (const { reject } of this.#waiting.values()) reject(new Error(`${this.stopped}: ${reason}`));
      this.#waiting.clear();
    };
    worker.on('error', (error) => died(error.message));
    worker.on('exit', (code) => died(`its thread ended with code ${code}`));
    this.#worker = worker;
    return worker;
  }
}
