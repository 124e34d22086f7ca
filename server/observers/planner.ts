import { Worker } from 'node:worker_threads';
import { defaultPlanSettings, type Plan, type PlanSettings } from './optimise.ts';
import type { PlanningProblem } from './planning-problem.ts';
import { defaultPrices } from './prices.ts';
import type { UnfilledGame } from './unfilled.ts';

export interface PlanRequest {
  readonly id: number;
  readonly problem: PlanningProblem;
  readonly settings: PlanSettings;
}

export interface PlanAnswer {
  readonly plan: Plan;
  readonly unfilled: readonly UnfilledGame[];
}

interface Waiting {
  readonly resolve: (answer: PlanAnswer) => void;
  readonly reject: (error: Error) => void;
}

const nothingToPlan: PlanningProblem = {
  games: [],
  observers: [],
  standing: [],
  locked: [],
  crewTarget: null,
  prices: defaultPrices,
};

/** Plans in one worker thread, one at a time; requests wait their turn. The thread starts on first use. */
export class Planner {
  #worker: Worker | null = null;
  #waiting = new Map<number, Waiting>();
  #next = 1;

  /** @throws Error with the planner's sentence when the problem is not well formed or the thread died. */
  plan(problem: PlanningProblem, settings: PlanSettings = defaultPlanSettings): Promise<PlanAnswer> {
    const worker = this.#thread();
    const id = this.#next;
    this.#next += 1;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      worker.ref();
      worker.postMessage({ id, problem, settings } satisfies PlanRequest);
    });
  }

  /** Starts the thread and loads the solver, so that the first plan need not wait for them. */
  warm(): void {
    if (!this.#worker) this.plan(nothingToPlan).catch(() => {});
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    await worker?.terminate();
  }

  #thread(): Worker {
    if (this.#worker) return this.#worker;
    const worker = new Worker(new URL('./planning-thread.mjs', import.meta.url), { execArgv: [] });
    worker.on('message', (message: { id: number; error?: string } & PlanAnswer) => {
      const waiting = this.#waiting.get(message.id);
      this.#waiting.delete(message.id);
      // An idle thread does not keep the process alive.
      if (this.#waiting.size === 0) worker.unref();
      if (message.error === undefined) waiting?.resolve({ plan: message.plan, unfilled: message.unfilled });
      else waiting?.reject(new Error(message.error));
    });
    const died = (reason: string) => {
      if (this.#worker === worker) this.#worker = null;
      for (const { reject } of this.#waiting.values()) reject(new Error(`The planner stopped: ${reason}`));
      this.#waiting.clear();
    };
    worker.on('error', (error) => died(error.message));
    worker.on('exit', (code) => died(`its thread ended with code ${code}`));
    this.#worker = worker;
    return worker;
  }
}
