import { monitorEventLoopDelay } from 'node:perf_hooks';
import { Planner } from '../../server/observers/planner.ts';
import { expectedErrors } from '../../server/planning/expected-errors.ts';
import { greedyPlan } from '../../server/planning/greedy.ts';
import { spent } from '../../server/planning/optimise.ts';
import { costOf, type PlanCost } from '../../server/planning/plan-cost.ts';
import type { Choice, PlanningProblem } from '../../server/planning/planning-problem.ts';
import { prepare } from '../../server/planning/prepared-problem.ts';
import type { InstanceSize } from './planning-instances.ts';
import { planningInstance } from './planning-instances.ts';

const goal = { seconds: 10, relativeGap: 0.01 };

/** Five instances of one size, planned in the worker thread to a proven gap, each beside the greedy plan. */
async function measure(name: string, size: InstanceSize) {
  const planner = new Planner();
  const delay = monitorEventLoopDelay({ resolution: 1 });
  const runs: {
    seconds: number;
    gap: number;
    proven: boolean;
    plan: PlanCost;
    greedy: PlanCost;
    error: number;
    greedyError: number;
    blocked: number;
  }[] = [];
  try {
    await planner.plan(planningInstance({ ...size, games: 2 }, 99), goal); // starts the thread and the solver
    for (let seed = 1; seed <= 5; seed += 1) {
      const problem = planningInstance(size, seed);
      const prepared = prepare(problem);
      const greedyChoices = greedyPlan(prepared);
      const greedy = costOf(prepared, greedyChoices);
      delay.reset();
      delay.enable();
      const started = performance.now();
      const { plan } = await planner.plan(problem, goal);
      const seconds = (performance.now() - started) / 1000;
      delay.disable();
      const own = costOf(prepared, plan.choices);
      const blocked = Number.isFinite(delay.max) ? delay.max / 1e6 : 0;
      runs.push({
        seconds,
        gap: plan.gap,
        proven: plan.proven,
        plan: own,
        greedy,
        error: meanError(problem, plan.choices),
        greedyError: meanError(problem, greedyChoices),
        blocked,
      });
    }
  } finally {
    await planner.close();
  }
  const worst = (of: (run: (typeof runs)[number]) => number) => Math.max(...runs.map(of));
  const mean = (of: (run: (typeof runs)[number]) => number) =>
    runs.reduce((sum, run) => sum + of(run), 0) / runs.length;
  const seconds = worst((run) => run.seconds);
  const planned = mean((run) => run.plan.total);
  const greedy = mean((run) => run.greedy.total);
  const saved = mean((run) => spent(run.plan));
  const greedySpent = mean((run) => spent(run.greedy));
  return [
    {
      name: `${name}: slowest of 5 to a proven 1% gap${runs.every((run) => run.proven) ? '' : ' (NOT proven in all)'}`,
      value: seconds,
      unit: 's',
      against: 'the goal, 10 s',
      ratio: seconds / goal.seconds,
    },
    {
      name: `${name}: widest proven gap`,
      value: 100 * worst((run) => run.gap),
      unit: '%',
      against: 'the goal, 1%',
      ratio: worst((run) => run.gap) / goal.relativeGap,
    },
    {
      name: `${name}: plan's objective (mean)`,
      value: planned,
      unit: 'mi',
      against: `greedy's objective, ${greedy.toFixed(0)} mi`,
      ratio: planned / greedy,
    },
    {
      name: `${name}: plan's travel, film, repeats and load (mean)`,
      value: saved,
      unit: 'mi',
      against: `greedy's, ${greedySpent.toFixed(0)} mi`,
      ratio: saved / greedySpent,
    },
    {
      name: `${name}: mean expected standard error of the officials seen`,
      value: mean((run) => run.error),
      unit: 'grade points',
      against: `under the greedy plan, ${mean((run) => run.greedyError).toFixed(3)}`,
      ratio: mean((run) => run.error) / mean((run) => run.greedyError),
    },
    {
      name: `${name}: longest the serving thread was held up`,
      value: worst((run) => run.blocked),
      unit: 'ms',
      against: `the search itself, ${(1000 * seconds).toFixed(0)} ms`,
      ratio: worst((run) => run.blocked) / (1000 * seconds),
    },
  ];
}

/** Mean expected standard error over the officials of an instance under a plan, by the grading model. */
function meanError(problem: PlanningProblem, choices: readonly Choice[]): number {
  const games = new Map(problem.games.map((game) => [game.id, game]));
  const errors = expectedErrors(
    choices.flatMap(({ gameId, observerId }) =>
      (games.get(gameId)?.officialIds ?? []).map((officialId, position) => ({
        officialId,
        position: String(position),
        observerId,
        gameId,
      })),
    ),
    problem.prices.spread,
  );
  return [...errors.values()].reduce((sum, error) => sum + error, 0) / errors.size;
}

/** A week of the size of the demo's, which a coordinator waits for at the screen. */
async function smallWeek() {
  const planner = new Planner();
  const size = {
    games: 5,
    observers: 14,
    crews: 8,
    teams: 10,
    firstWeek: 6,
    gamesPerWeek: 5,
    weeksBehind: 5,
  };
  try {
    await planner.plan(planningInstance(size, 99), goal); // starts the thread and the solver
    const times: number[] = [];
    for (let seed = 1; seed <= 9; seed += 1) {
      const problem = planningInstance(size, seed);
      const started = performance.now();
      await planner.plan(problem, goal);
      times.push(performance.now() - started);
    }
    const median = times.sort((a, b) => a - b)[4] ?? 0;
    return {
      name: 'assignment-week: 5 games and 14 observers, median of 9',
      value: median,
      unit: 'ms',
      against: 'a tenth of a second, what feels instant, 100 ms',
      ratio: median / 100,
    };
  } finally {
    await planner.close();
  }
}

/** One week of 60 games and 120 observers, and one of 5 and 14. */
export async function assignmentWeek() {
  const large = await measure('assignment-week', {
    games: 60,
    observers: 120,
    crews: 60,
    teams: 120,
    firstWeek: 6,
    gamesPerWeek: 60,
    weeksBehind: 5,
  });
  return [...large, await smallWeek()];
}

/** The rest of a season: 60 games, 14 observers, 8 crews, nothing watched yet. */
export function assignmentSeason() {
  return measure('assignment-season', {
    games: 60,
    observers: 14,
    crews: 8,
    teams: 10,
    firstWeek: 1,
    gamesPerWeek: 5,
    weeksBehind: 0,
  });
}
