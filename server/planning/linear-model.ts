import { type Group, linksOut } from './connectedness.ts';
import { furtherLook, gainOfTime } from './information.ts';
import { type LinearModel, PackedModel } from './packed-model.ts';
import type { Choice } from './planning-problem.ts';
import { type Candidate, type PreparedProblem, watchedKey } from './prepared-problem.ts';
import type { Rule } from './rules.ts';

/** Rules not enforced for assignments to one game: the question "what if we looked away here?". */
interface Relaxation {
  readonly gameId: string;
  readonly rules: ReadonlySet<Rule>;
  /** Each game gets at least this many observers: what it has now, and one more for the game in question. */
  readonly keep: ReadonlyMap<string, number>;
}

interface PlanModel {
  readonly model: LinearModel;
  /** Column j < candidates.length is the choice candidates[j]. */
  readonly candidates: readonly Candidate[];
}

function grouped<T>(items: Iterable<T>, key: (item: T) => string | null): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const name = key(item);
    if (name === null) continue;
    const group = groups.get(name);
    if (group) group.push(item);
    else groups.set(name, [item]);
  }
  return groups;
}

/**
 * The plan as a linear model. Costs that grow with each repetition (load, pairs) and gains that shrink
 * (information) are convex, so each is a staircase of continuous columns that fills from its cheapest step
 * without any whole-number variable; only the choices themselves are whole. A staircase of one step melts
 * into the choice's own cost. This keeps the relaxation nearly whole and the proof of optimality short.
 */
export function planModel(
  prepared: PreparedProblem,
  groups: readonly Group[],
  relaxation: Relaxation | null = null,
): PlanModel {
  const { problem } = prepared;
  const { prices, crewTarget } = problem;
  const relaxed = (candidate: Candidate, rule: Rule) =>
    relaxation !== null && candidate.gameId === relaxation.gameId && relaxation.rules.has(rule);
  const allowed = prepared.candidates.filter(
    (candidate) =>
      candidate.locked ||
      (candidate.game.observersWanted > 0 && candidate.broken.every(({ rule }) => relaxed(candidate, rule))),
  );
  const oneWay = relaxation === null ? withoutCostlierWay(prepared, allowed) : allowed;
  // Ties between groups and new eyes for a crew are worth something that a candidate's own cost does not show.
  const candidates = groups.length === 0 && !crewTarget ? withoutFarthest(prepared, oneWay) : oneWay;
  const build = new PackedModel();
  const columnOf = new Map<Candidate, number>();
  for (const candidate of candidates)
    columnOf.set(candidate, build.column(candidate.wayCost, candidate.locked ? 1 : 0, 1, true));
  const column = (candidate: Candidate) => columnOf.get(candidate) as number;
  const ones = (list: readonly Candidate[]) => list.map((candidate) => [column(candidate), 1] as const);
  /** Most of these that one plan can hold: one way per observer and game, no game over what it wants. */
  const most = (list: readonly Candidate[]) => {
    let sum = 0;
    for (const [, inGame] of grouped(list, (candidate) => candidate.gameId)) {
      const people = new Set(inGame.map((candidate) => candidate.observerId)).size;
      const locks = inGame.filter((candidate) => candidate.locked).length;
      sum += Math.max(locks, Math.min(people, inGame[0]?.game.observersWanted ?? 0));
    }
    return sum;
  };
  /** Charges price(n) for the n-th of these choices, `less` taken off their number; price must never fall. */
  const staircase = (
    list: readonly Candidate[],
    price: (n: number) => number,
    less: readonly (readonly [column: number, value: number])[] = [],
  ): number[] => {
    const steps = most(list);
    if (steps === 1) {
      for (const candidate of list) {
        const at = column(candidate);
        build.cost[at] = (build.cost[at] ?? 0) + price(1);
      }
      return [];
    }
    const columns: number[] = [];
    for (let n = 1; n <= steps; n += 1) columns.push(build.column(price(n), 0, 1));
    build.row(0, 0, [
      ...ones(list),
      ...less.map(([at, value]) => [at, -value] as const),
      ...columns.map((step) => [step, -1] as const),
    ]);
    return columns;
  };
  /** Of each game how many beyond the first observer, and what each of them tells less than a game of its own. */
  const furtherLooks = (list: readonly Candidate[]) => {
    const lost = 1 - furtherLook(prices.spread);
    const several = [...grouped(list, (candidate) => candidate.gameId).values()].filter(
      (inGame) => most(inGame) > 1,
    );
    return several.map((inGame) => {
      const beyond = build.column(0, 0, most(inGame) - 1);
      build.row(-Infinity, 1, [...ones(inGame), [beyond, -1]]);
      return [beyond, lost] as const;
    });
  };

  // Each game gets what it wants; what it does not get is paid for and reported.
  const byGame = grouped(candidates, (candidate) => candidate.gameId);
  for (const game of problem.games) {
    const list = byGame.get(game.id) ?? [];
    const locks = list.filter((candidate) => candidate.locked).length;
    const wanted = Math.max(game.observersWanted, locks);
    let mayLack = Math.max(0, game.observersWanted - locks);
    if (relaxation) mayLack = Math.max(0, wanted - Math.max(locks, relaxation.keep.get(game.id) ?? 0));
    if (wanted === 0 && list.length === 0) continue;
    const lacking = build.column(prices.unfilled, 0, mayLack);
    build.row(wanted, wanted, [...ones(list), [lacking, 1]]);
    if (wanted > 1)
      for (const [, ways] of grouped(list, (candidate) => candidate.observerId))
        if (ways.length > 1)
          build.row(-Infinity, Math.max(1, ways.filter((way) => way.locked).length), ones(ways));
  }

  const limit = (list: readonly Candidate[], rule: Rule, room: number) => {
    const bound = list.filter((candidate) => !relaxed(candidate, rule));
    // What a person locked stays, over the limit or not; nothing is added on top.
    const locks = bound.filter((candidate) => candidate.locked).length;
    const right = Math.max(room, locks, 0);
    if (most(bound) > right) build.row(-Infinity, right, ones(bound));
  };
  const byObserver = grouped(candidates, (candidate) => candidate.observerId);
  for (const observer of problem.observers) {
    const list = byObserver.get(observer.id);
    if (!list) continue;
    const standing = prepared.standingOf.get(observer.id) ?? [];
    const already = standing.length;
    staircase(list, (n) => prices.load * (already + n - 1));
    if (observer.seasonLimit !== null) limit(list, 'season limit', observer.seasonLimit - already);
    if (observer.weeklyLimit !== null)
      for (const [, inWeek] of grouped(list, (candidate) => String(candidate.game.week))) {
        const week = inWeek[0]?.game.week;
        const used = standing.filter((entry) => entry.week === week).length;
        limit(inWeek, 'weekly limit', observer.weeklyLimit - used);
      }
    const travelling = list.filter((candidate) => candidate.mode === 'in person');
    for (const [date, onDay] of grouped(travelling, (candidate) => candidate.game.date)) {
      const used = standing.filter((entry) => entry.mode === 'in person' && entry.date === date).length;
      limit(onDay, 'one place at a time', 1 - used);
    }
  }

  const byWatched = grouped(candidates, (candidate) => watchedKey(candidate.game));
  for (const [key, watched] of prepared.watched) {
    const list = byWatched.get(key) ?? [];
    if (list.length > 0)
      staircase(
        list,
        (n) => -prices.information * watched.officials * gainOfTime(watched.gamesWorth + n, prices.spread),
        furtherLooks(list),
      );
    const newEyes: (readonly [number, number])[] = [];
    for (const [observerId, pair] of grouped(list, (candidate) => candidate.observerId)) {
      const before = watched.pairTimes.get(observerId) ?? 0;
      const steps = staircase(pair, (n) => prices.repeatedPair * (before + n - 1));
      if (before > 0) continue;
      if (steps[0] === undefined) newEyes.push(...ones(pair));
      else newEyes.push([steps[0], 1]);
    }
    if (!crewTarget || watched.crewId === null) continue;
    const missingTimes = crewTarget.timesSeen - watched.timesSeen;
    if (missingTimes > 0) {
      const short = build.column(prices.missedCrewTarget, 0, missingTimes);
      build.row(missingTimes, Infinity, [...ones(list), [short, 1]]);
    }
    const missingEyes = crewTarget.differentObservers - watched.pairTimes.size;
    if (missingEyes > 0) {
      const short = build.column(prices.missedCrewTarget, 0, missingEyes);
      build.row(missingEyes, Infinity, [...newEyes, [short, 1]]);
    }
  }

  for (const group of groups) {
    const links = candidates.filter(
      (candidate) =>
        candidate.game.crewId !== null && linksOut(group, candidate.observerId, candidate.game.crewId),
    );
    const apart = build.column(prices.separateGroup, 0, 1);
    build.row(1, Infinity, [...ones(links), [apart, 1]]);
  }
  return { model: build, candidates };
}

/**
 * Drops the costlier way of watching where an observer has room for one game in that week: with no other game that
 * week, nothing can make the costlier way the better one.
 */
function withoutCostlierWay(prepared: PreparedProblem, candidates: readonly Candidate[]): Candidate[] {
  const rooms = new Map<string, number>();
  const roomFor = ({ observer, observerId, game }: Candidate) => {
    const key = `${observerId}\n${game.week}`;
    let room = rooms.get(key);
    if (room === undefined) {
      const standing = prepared.standingOf.get(observerId) ?? [];
      const inWeek = standing.filter((entry) => entry.week === game.week).length;
      room = Math.min(
        (observer.weeklyLimit ?? Infinity) - inWeek,
        (observer.seasonLimit ?? Infinity) - standing.length,
      );
      rooms.set(key, room);
    }
    return room;
  };
  const held = new Set(candidates.filter(({ locked }) => locked).map(({ observerId }) => observerId));
  const kept: Candidate[] = [];
  for (const [, ways] of grouped(candidates, ({ gameId, observerId }) => `${gameId}\n${observerId}`)) {
    const [first, second] = ways as [Candidate, Candidate?];
    if (!second || held.has(first.observerId) || roomFor(first) > 1) kept.push(...ways);
    else kept.push(second.wayCost < first.wayCost ? second : first);
  }
  return kept;
}

/**
 * Keeps for each game as many of its cheapest observers as the whole plan has places: were a game to take somebody
 * beyond them, one of them would be sent nowhere and could take the game at no more cost and within every rule.
 */
function withoutFarthest(prepared: PreparedProblem, candidates: readonly Candidate[]): Candidate[] {
  const { prices, games } = prepared.problem;
  const byGame = grouped(candidates, ({ gameId }) => gameId);
  let places = 0;
  for (const game of games) {
    const locks = (byGame.get(game.id) ?? []).filter(({ locked }) => locked).length;
    places += Math.max(game.observersWanted, locks);
  }
  if (prepared.problem.observers.length <= places) return [...candidates];
  const firstCost = (candidate: Candidate) =>
    candidate.wayCost +
    prices.load * (prepared.standingOf.get(candidate.observerId)?.length ?? 0) +
    prices.repeatedPair *
      (prepared.watched.get(watchedKey(candidate.game))?.pairTimes.get(candidate.observerId) ?? 0);
  const kept: Candidate[] = [];
  for (const [, list] of byGame) {
    const cheapest = new Map<string, number>();
    for (const candidate of list) {
      const cost = firstCost(candidate);
      if (cost < (cheapest.get(candidate.observerId) ?? Infinity)) cheapest.set(candidate.observerId, cost);
    }
    const near = new Set(
      [...cheapest]
        .sort((a, b) => a[1] - b[1])
        .slice(0, places)
        .map(([observerId]) => observerId),
    );
    kept.push(...list.filter((candidate) => candidate.locked || near.has(candidate.observerId)));
  }
  return kept;
}

/** The choices a solution makes. */
export function choicesIn(planned: PlanModel, values: ArrayLike<number>): Choice[] {
  return planned.candidates
    .filter((_, at) => (values[at] ?? 0) > 0.5)
    .map(({ gameId, observerId, mode }) => ({ gameId, observerId, mode }));
}
