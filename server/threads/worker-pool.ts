import { availableParallelism } from 'node:os';
import { WorkerQueue } from './worker-queue.ts';

/** Each thread holds the code and the data of what it works on: some 100 MB. */
const mostThreads = 4;

/** As many requests at once as there are processors, up to four, each in a thread of its own; the others wait. */
export class WorkerPool<Request extends object, Answer extends object> {
  readonly #queues: WorkerQueue<Request, Answer>[] = [];
  readonly #most: number;

  /**
   * @param thread what each thread runs
   * @param stopped what an error begins with when the thread died under a request
   */
  constructor(
    private readonly thread: URL,
    private readonly stopped: string,
    most = Math.min(mostThreads, availableParallelism()),
  ) {
    this.#most = Math.max(1, most);
  }

  /** Threads that were started. */
  get size(): number {
    return this.#queues.length;
  }

  /** By a thread that has nothing to do, else a new one, else the one with the fewest waiting. @throws as `WorkerQueue` */
  ask(request: Request): Promise<Answer> {
    return this.#next().ask(request);
  }

  async close(): Promise<void> {
    await Promise.all(this.#queues.splice(0).map((queue) => queue.close()));
  }

  #next(): WorkerQueue<Request, Answer> {
    const [least, ...others] = this.#queues;
    const found = others.reduce((best, queue) => (queue.waiting < best!.waiting ? queue : best), least);
    if (found && (found.waiting === 0 || this.#queues.length === this.#most)) return found;
    const queue = new WorkerQueue<Request, Answer>(this.thread, this.stopped);
    this.#queues.push(queue);
    return queue;
  }
}
