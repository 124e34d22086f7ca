import { costOf } from '../../server/planning/plan-cost.ts';
import type {
  Choice,
  GameToWatch,
  ObserverToSend,
  PlanningProblem,
  Standing,
} from '../../server/planning/planning-problem.ts';
import type { PreparedProblem } from '../../server/planning/prepared-problem.ts';
import { defaultPrices } from '../../server/planning/prices.ts';
import { seeded } from '../bench/planning-instances.ts';

const day = (week: number, shift: number) =>
  new Date(Date.UTC(2026, 8, 5 + 7 * week + shift)).toISOString().slice(0, 10);

/** A random problem small enough to try every plan, with every kind of rule and price in play. */
export function smallProblem(seed: number): PlanningProblem {
  const random = seeded(seed);
  const pick = (n: number) => Math.floor(random() * n);
  const maybe = (chance: number) => random() < chance;
  const place = () => (maybe(0.1) ? null : { latitude: 36 + random() * 4, longitude: -90 + random() * 6 });
  const crews = 1 + pick(3);
  const games: GameToWatch[] = Array.from({ length: 1 + pick(4) }, (_, n) => {
    const week = pick(2);
    const crew = pick(crews + 1);
    return {
      id: `g${n}`,
      week,
      date: day(week, pick(2)),
      place: place(),
      teamIds: [`t${pick(4)}`, `t${pick(4)}`],
      crewId: crew === crews ? null : `c${crew}`,
      officialIds: crew === crews ? [] : [`o${crew}a`, `o${crew}b`],
      observersWanted: maybe(0.75) ? 1 : pick(3),
      filmAllowed: maybe(0.8),
    };
  });
  const observers: ObserverToSend[] = Array.from({ length: 1 + pick(4) }, (_, n) => ({
    id: `b${n}`,
    home: place(),
    modes: maybe(0.7) ? ['in person', 'film'] : maybe(0.5) ? ['in person'] : ['film'],
    absences: maybe(0.3)
      ? [{ from: day(pick(2), 0), to: day(1, pick(2)), of: maybe(0.5) ? 'in person' : 'all work' }]
      : [],
    conflicts: [
      ...(maybe(0.3) ? [{ kind: 'school tie' as const, teamId: `t${pick(4)}` }] : []),
      ...(maybe(0.2) ? [{ kind: 'former crew' as const, crewId: `c${pick(crews)}` }] : []),
      ...(maybe(0.2) ? [{ kind: 'family' as const, officialId: `o${pick(crews)}a` }] : []),
    ],
    weeklyLimit: maybe(0.7) ? 1 + pick(2) : null,
    seasonLimit: maybe(0.5) ? 1 + pick(4) : null,
    travelLimitMiles: maybe(0.5) ? 100 + pick(200) : null,
  }));
  const standing: Standing[] = Array.from({ length: pick(4) }, (_, n) => {
    const week = maybe(0.5) ? -1 : pick(2);
    return {
      observerId: `b${pick(observers.length)}`,
      // The second of two saw the same game.
      gameId: `p${n >> 1}`,
      week,
      date: day(week, pick(2)),
      mode: maybe(0.5) ? 'in person' : 'film',
      crewId: maybe(0.8) ? `c${pick(crews)}` : null,
      ...(maybe(0.4) ? { watchedShare: pick(3) / 2 } : {}),
    };
  });
  const lockable = games.filter((game) => game.observersWanted > 0);
  const locked: Choice[] = [];
  if (lockable.length > 0 && maybe(0.3))
    locked.push({
      gameId: lockable[pick(lockable.length)]?.id ?? '',
      observerId: `b${pick(observers.length)}`,
      mode: maybe(0.5) ? 'in person' : 'film',
    });
  return {
    games,
    observers,
    standing,
    locked,
    crewTarget: maybe(0.5) ? { timesSeen: pick(4), differentObservers: pick(4) } : null,
    prices: {
      ...defaultPrices,
      load: pick(60),
      repeatedPair: pick(120),
      information: pick(100),
      film: 50 + pick(150),
    },
  };
}

const isLocked = (problem: PlanningProblem, choice: Choice) =>
  problem.locked.some(
    (lock) =>
      lock.gameId === choice.gameId && lock.observerId === choice.observerId && lock.mode === choice.mode,
  );

/**
 * The rules written out once more, plainly and apart from the product's code.
 * @param blind rules not looked at for choices on one game.
 */
export function keepsRules(
  prepared: PreparedProblem,
  plan: readonly Choice[],
  blind: { gameId: string; rules: ReadonlySet<string> } = { gameId: '', rules: new Set() },
): boolean {
  const { problem } = prepared;
  const seen = (choice: Choice, rule: string) => !(choice.gameId === blind.gameId && blind.rules.has(rule));
  const gameOf = (choice: Choice) => problem.games.find((game) => game.id === choice.gameId)!;
  for (const choice of plan) {
    if (isLocked(problem, choice)) continue;
    const candidate = prepared.candidate(choice)!;
    const { observer, game, mode } = candidate;
    if (
      seen(choice, 'way of watching') &&
      (!observer.modes.includes(mode) || (mode === 'film' && !game.filmAllowed))
    )
      return false;
    const away = observer.absences.some(
      (absence) =>
        absence.from <= game.date &&
        game.date <= absence.to &&
        (mode === 'in person' || absence.of === 'all work'),
    );
    if (away && seen(choice, 'availability')) return false;
    const tied = observer.conflicts.some(
      (conflict) =>
        game.teamIds.some((team) => team === conflict.teamId) ||
        game.officialIds.some((official) => official === conflict.officialId) ||
        (game.crewId !== null && game.crewId === conflict.crewId),
    );
    if (tied && seen(choice, 'declared conflict')) return false;
    const limit = observer.travelLimitMiles;
    if (
      mode === 'in person' &&
      limit !== null &&
      (candidate.miles ?? 0) > limit &&
      seen(choice, 'travel limit')
    )
      return false;
  }
  for (const observer of problem.observers) {
    const mine = plan.filter((choice) => choice.observerId === observer.id);
    const standing = problem.standing.filter((entry) => entry.observerId === observer.id);
    const over = (rule: string, limit: number | null, of: (choice: Choice) => boolean, already: number) => {
      if (limit === null) return false;
      const counted = mine.filter((choice) => of(choice) && seen(choice, rule));
      const free = counted.filter((choice) => !isLocked(problem, choice)).length;
      return free > 0 && counted.length + already > limit;
    };
    if (over('season limit', observer.seasonLimit, () => true, standing.length)) return false;
    for (const week of new Set(problem.games.map((game) => game.week))) {
      const already = standing.filter((entry) => entry.week === week).length;
      if (over('weekly limit', observer.weeklyLimit, (choice) => gameOf(choice).week === week, already))
        return false;
    }
    for (const date of new Set(problem.games.map((game) => game.date))) {
      const already = standing.filter((entry) => entry.mode === 'in person' && entry.date === date).length;
      const there = (choice: Choice) => choice.mode === 'in person' && gameOf(choice).date === date;
      if (over('one place at a time', 1, there, already)) return false;
    }
  }
  return true;
}

/** Every plan: for each game every set of observers up to what it wants, each in either way. */
export function* everyPlan(problem: PlanningProblem): Generator<Choice[]> {
  const options = problem.games.map((game) => {
    const ways: Choice[][] = [[]];
    const grow = (from: number, chosen: Choice[]) => {
      for (let n = from; n < problem.observers.length; n += 1)
        for (const mode of ['in person', 'film'] as const) {
          const next = [...chosen, { gameId: game.id, observerId: problem.observers[n]!.id, mode }];
          ways.push(next);
          if (next.length < game.observersWanted) grow(n + 1, next);
        }
    };
    if (game.observersWanted > 0) grow(0, []);
    const locks = problem.locked.filter((lock) => lock.gameId === game.id);
    return ways.filter((way) => locks.every((lock) => way.some((choice) => isSame(choice, lock))));
  });
  function* combine(at: number, plan: Choice[]): Generator<Choice[]> {
    if (at === options.length) {
      yield plan;
      return;
    }
    for (const way of options[at]!) yield* combine(at + 1, [...plan, ...way]);
  }
  yield* combine(0, []);
}

export function isSame(a: Choice, b: Choice): boolean {
  return a.gameId === b.gameId && a.observerId === b.observerId && a.mode === b.mode;
}

export function bruteForce(prepared: PreparedProblem): number {
  let best = Infinity;
  for (const plan of everyPlan(prepared.problem)) {
    if (!keepsRules(prepared, plan)) continue;
    const { total } = costOf(prepared, plan);
    if (total < best) best = total;
  }
  return best;
}
