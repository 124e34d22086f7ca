import { defaultPlanSettings, type Plan, type PlanSettings } from '../planning/optimise.ts';
import type { PlanningProblem } from '../planning/planning-problem.ts';
import { defaultPrices } from '../planning/prices.ts';
import type { UnfilledGame } from '../planning/unfilled.ts';
import { WorkerQueue } from '../threads/worker-queue.ts';

export interface PlanRequest {
  readonly problem: PlanningProblem;
  readonly settings: PlanSettings;
}

export interface PlanAnswer {
  readonly plan: Plan;
  readonly unfilled: readonly UnfilledGame[];
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
  #queue = new WorkerQueue<PlanRequest, PlanAnswer>(
    new URL('./planning-thread.mjs', import.meta.url),
    'The planner stopped',
  );

  /** @throws Error with the planner's sentence when the problem is not well formed or the thread died. */
  plan(problem: PlanningProblem, settings: PlanSettings = defaultPlanSettings): Promise<PlanAnswer> {
    return this.#queue.ask({ problem, settings });
  }

  /** Starts the thread and loads the solver, so that the first plan need not wait for them. */
  warm(): void {
    if (!this.#queue.started) this.plan(nothingToPlan).catch(() => {});
  }

  close(): Promise<void> {
    return this.#queue.close();
  }
}
