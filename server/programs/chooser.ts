import { WorkerQueue } from '../threads/worker-queue.ts';
import type { ClipChoice } from '../training/choose-clips.ts';
import type { ClipProblem } from '../training/clip-problem.ts';

export interface ChooseRequest {
  readonly problem: ClipProblem;
  readonly seconds: number;
}

/** Chooses plays in one worker thread, one request at a time. The thread starts on first use. */
export class Chooser {
  #queue = new WorkerQueue<ChooseRequest, ClipChoice>(
    new URL('./choosing-thread.mjs', import.meta.url),
    'The choice of plays stopped',
  );

  /** @throws Error with the chooser's sentence when the problem is not well formed or the thread died. */
  choose(problem: ClipProblem, seconds = 10): Promise<ClipChoice> {
    return this.#queue.ask({ problem, seconds });
  }

  close(): Promise<void> {
    return this.#queue.close();
  }
}
