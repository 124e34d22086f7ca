import { Worker } from 'node:worker_threads';

/** What a thread sends: first that it is ready, then one answer, or the sentence of an error, for each request. */
export type FromThread<Answer> = { ready: true } | { answer: Answer } | { error: string };

export class TookTooLong extends Error {
  override name = 'TookTooLong';
}
export class TookTooMuch extends Error {
  override name = 'TookTooMuch';
}

interface Limits {
  /** The largest heap, megabytes. */
  memory: number;
}

type Waiting<Request, Answer> = {
  request: Request;
  seconds: number;
  resolve(answer: Answer): void;
  reject(error: Error): void;
};

/**
 * Hands requests, one after the other, to a worker thread that may not take longer for each, nor hold more memory, than
 * is allowed: what does is ended with its thread, and the next request gets a new one. For work whose course others
 * decide, such as a template that someone wrote.
 */
export class TimedWorker<Request, Answer> {
  #worker: Worker | null = null;
  #ready = false;
  #queue: Waiting<Request, Answer>[] = [];
  #current: Waiting<Request, Answer> | null = null;
  #timer: NodeJS.Timeout | undefined;

  constructor(
    private readonly thread: URL,
    private readonly limits: Limits,
  ) {}

  /** @throws TookTooLong, TookTooMuch, or an Error with the thread's sentence. */
  ask(request: Request, seconds: number): Promise<Answer> {
    return new Promise((resolve, reject) => {
      this.#queue.push({ request, seconds, resolve, reject });
      this.#next();
    });
  }

  async close(): Promise<void> {
    for (const { reject } of this.#queue.splice(0)) reject(new Error('The server is stopping.'));
    await this.#worker?.terminate();
  }

  #next(): void {
    if (this.#current || this.#queue.length === 0) return;
    this.#current = this.#queue.shift()!;
    this.#worker ??= this.#start();
    this.#worker.ref();
    this.#send();
  }

  /** The time runs from when the thread can begin: how long it takes to start is no fault of the request. */
  #send(): void {
    if (!this.#ready || !this.#current) return;
    const { request, seconds } = this.#current;
    this.#worker!.postMessage(request);
    this.#timer = setTimeout(() => {
      const late = new TookTooLong(`It took longer than ${seconds} seconds.`);
      this.#end((waiting) => waiting.reject(late));
      this.#drop();
      this.#next();
    }, seconds * 1000);
  }

  #start(): Worker {
    const worker = new Worker(this.thread, {
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: this.limits.memory },
    });
    this.#ready = false;
    worker.on('message', (message: FromThread<Answer>) => {
      if (this.#worker !== worker) return;
      if ('ready' in message) {
        this.#ready = true;
        return this.#send();
      }
      this.#end((waiting) =>
        'answer' in message ? waiting.resolve(message.answer) : waiting.reject(new Error(message.error)),
      );
      this.#next();
    });
    const died = (error: Error) => {
      if (this.#worker !== worker) return;
      this.#worker = null;
      this.#end((waiting) => waiting.reject(error));
      this.#next();
    };
    worker.on('error', (error: NodeJS.ErrnoException) =>
      died(
        error.code === 'ERR_WORKER_OUT_OF_MEMORY'
          ? new TookTooMuch(`It needed more than ${this.limits.memory} MB of memory.`)
          : error,
      ),
    );
    worker.on('exit', (code) => died(new Error(`The thread ended with code ${code}.`)));
    return worker;
  }

  #end(answer: (waiting: Waiting<Request, Answer>) => void): void {
    clearTimeout(this.#timer);
    const waiting = this.#current;
    this.#current = null;
    this.#worker?.unref();
    if (waiting) answer(waiting);
  }

  #drop(): void {
    const worker = this.#worker;
    this.#worker = null;
    void worker?.terminate();
  }
}
