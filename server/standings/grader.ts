import { Worker } from 'node:worker_threads';
import type { GradedGame, SeasonSettings, SeasonStandings } from '../grading/season-model.ts';

export interface GradingRequest {
  readonly id: number;
  readonly rows: readonly GradedGame[];
  readonly settings: SeasonSettings;
}

export type GradingAnswer = { readonly id: number } & (
  | { readonly result: SeasonStandings }
  | { readonly error: string }
);

interface Waiting {
  readonly resolve: (result: SeasonStandings) => void;
  readonly reject: (error: Error) => void;
}

/**
 * Grades seasons in a worker thread, so that a long fit never holds up another request. The thread starts on
 * first use and stays; idle, it does not keep the process alive.
 */
export class Grader {
  #worker: Worker | null = null;
  #waiting = new Map<number, Waiting>();
  #next = 1;

  /** As `gradeWholeSeason`. @throws Error with its sentence, or when the thread died. */
  grade(rows: readonly GradedGame[], settings: SeasonSettings): Promise<SeasonStandings> {
    const worker = this.#thread();
    const id = this.#next;
    this.#next += 1;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      worker.ref();
      worker.postMessage({ id, rows, settings } satisfies GradingRequest);
    });
  }

  /** Starts the thread ahead of the first request. */
  async start(): Promise<void> {
    await this.grade([], { minimumGames: 0, minimumOpportunities: 0, top: 1, seed: 1 });
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    await worker?.terminate();
  }

  #thread(): Worker {
    if (this.#worker) return this.#worker;
    const worker = new Worker(new URL('./grading-thread.mjs', import.meta.url), { execArgv: [] });
    worker.unref();
    worker.on('message', (answer: GradingAnswer) => {
      const waiting = this.#waiting.get(answer.id);
      this.#waiting.delete(answer.id);
      if (this.#waiting.size === 0) worker.unref();
      if ('error' in answer) waiting?.reject(new Error(answer.error));
      else waiting?.resolve(answer.result);
    });
    const died = (reason: string) => {
      if (this.#worker === worker) this.#worker = null;
      for (const { reject } of this.#waiting.values()) reject(new Error(`Grading stopped: ${reason}`));
      this.#waiting.clear();
    };
    worker.on('error', (error) => died(error.message));
    worker.on('exit', (code) => died(`its thread ended with code ${code}`));
    this.#worker = worker;
    return worker;
  }
}
