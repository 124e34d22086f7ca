import { parentPort } from 'node:worker_threads';
import { bestPlan } from '../planning/optimise.ts';
import { prepare } from '../planning/prepared-problem.ts';
import { solve } from '../planning/solver.ts';
import { explainUnfilled } from '../planning/unfilled.ts';
import type { Numbered } from '../threads/worker-queue.ts';
import type { PlanRequest } from './planner.ts';

// Runs in a worker thread, so that a long search never holds up another request.
parentPort?.on('message', async ({ id, problem, settings }: Numbered<PlanRequest>) => {
  try {
    const plan = await bestPlan(problem, settings);
    const unfilled =
      plan.lacking.length > 0
        ? await explainUnfilled(prepare(problem), plan.choices, solve, settings.seconds)
        : [];
    parentPort?.postMessage({ id, plan, unfilled });
  } catch (error) {
    parentPort?.postMessage({ id, error: error instanceof Error ? error.message : String(error) });
  }
});
