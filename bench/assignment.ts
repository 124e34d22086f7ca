import { monitorEventLoopDelay } from 'node:perf_hooks';
import { greedyPlan } from '../server/observers/greedy.ts';
import { spent } from '../server/observers/optimise.ts';
import { costOf, type PlanCost } from '../server/observers/plan-cost.ts';
import { Planner } from '../server/observers/planner.ts';
import { prepare } from '../server/observers/prepared-problem.ts';
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
    blocked: number;
  }[] = [];
  try {
    await planner.plan(planningInstance({ ...size, games: 2 }, 99), goal); // starts the thread and the solver
    for (let seed = 1; seed <= 5; seed += 1) {
      const problem = planningInstance(size, seed);
      const prepared = prepare(problem);
      const greedy = costOf(prepared, greedyPlan(prepared));
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
      name: `${name}: longest the serving thread was held up`,
      value: worst((run) => run.blocked),
      unit: 'ms',
      against: `the search itself, ${(1000 * seconds).toFixed(0)} ms`,
      ratio: worst((run) => run.blocked) / (1000 * seconds),
    },
  ];
}

/** One week of 60 games and 120 observers. */
export function assignmentWeek() {
  return measure('assignment-week', {
    games: 60,
    observers: 120,
    crews: 60,
    teams: 120,
    firstWeek: 6,
    gamesPerWeek: 60,
    weeksBehind: 5,
  });
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
