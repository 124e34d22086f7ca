import { type Group, groupsOf } from './connectedness.ts';
import { furtherLook } from './information.ts';
import type {
  Choice,
  GameToWatch,
  Mode,
  ObserverToSend,
  PlanningProblem,
  Standing,
} from './planning-problem.ts';
import { type BrokenRule, rulesBrokenAlone, rulesBrokenBeside, tripMiles } from './rules.ts';

/** One observer on one game in one way, with all that does not depend on the rest of the plan. */
export interface Candidate extends Choice {
  readonly game: GameToWatch;
  readonly observer: ObserverToSend;
  /** One way; null when unknown. */
  readonly miles: number | null;
  /** The travel or film price, in miles. */
  readonly wayCost: number;
  /** Rules broken whatever else is planned, or by what already stands. */
  readonly broken: readonly BrokenRule[];
  readonly locked: boolean;
}

/** A crew (or a game with no crew named yet) whose officials gain from being seen. */
interface Watched {
  readonly key: string;
  readonly crewId: string | null;
  readonly games: readonly GameToWatch[];
  readonly officials: number;
  readonly timesSeen: number;
  /**
   * The same in whole games' worth of watched chances: half a crew watched tells half as much, a second observer of one
   * game less than a game of its own.
   */
  readonly gamesWorth: number;
  readonly pairTimes: ReadonlyMap<string, number>;
}

/** The problem with distances, rules and counts worked out once. */
export interface PreparedProblem {
  readonly problem: PlanningProblem;
  readonly games: ReadonlyMap<string, GameToWatch>;
  readonly observers: ReadonlyMap<string, ObserverToSend>;
  /** Every candidate, allowed or not, game by game in the order of the problem. */
  readonly candidates: readonly Candidate[];
  readonly candidate: (choice: Choice) => Candidate | undefined;
  readonly watched: ReadonlyMap<string, Watched>;
  /** Each observer's assignments that stand outside the games being planned. */
  readonly standingOf: ReadonlyMap<string, readonly Standing[]>;
  /** Groups whose grades cannot be compared with the largest group's as things stand. */
  readonly separateGroups: readonly Group[];
}

/** Officials in a game whose working crew is not known yet. */
const usualCrewSize = 8;

/** Games' worth of observers of one game who each watched such a share of its chances. */
function sharesWorth(shares: readonly number[], further: number): number {
  const most = Math.max(...shares);
  const all = shares.reduce((sum, share) => sum + share, 0);
  return most + further * (all - most);
}

export function watchedKey(game: Pick<GameToWatch, 'crewId' | 'id'>): string {
  return game.crewId === null ? `game ${game.id}` : `crew ${game.crewId}`;
}

const choiceKey = (choice: Choice) => `${choice.gameId}\n${choice.observerId}\n${choice.mode}`;

/** @throws RangeError naming the field when two games or observers share an id or a locked choice names neither. */
export function prepare(problem: PlanningProblem): PreparedProblem {
  const games = new Map(problem.games.map((game) => [game.id, game]));
  const observers = new Map(problem.observers.map((observer) => [observer.id, observer]));
  if (games.size !== problem.games.length) throw new RangeError('games: two games have the same id');
  if (observers.size !== problem.observers.length)
    throw new RangeError('observers: two observers have the same id');
  for (const game of problem.games)
    if (!Number.isInteger(game.observersWanted) || game.observersWanted < 0)
      throw new RangeError(`games: observersWanted of ${game.id} must be 0 or a whole number above`);
  const locked = new Set<string>();
  for (const choice of problem.locked) {
    if (!games.has(choice.gameId)) throw new RangeError(`locked: no game ${choice.gameId} in this plan`);
    if (!observers.has(choice.observerId)) throw new RangeError(`locked: no observer ${choice.observerId}`);
    locked.add(choiceKey(choice));
  }

  const standingOf = new Map<string, Standing[]>();
  for (const standing of problem.standing) {
    if (games.has(standing.gameId))
      throw new RangeError(`standing: game ${standing.gameId} is being planned`);
    const list = standingOf.get(standing.observerId) ?? [];
    standingOf.set(standing.observerId, list);
    list.push(standing);
  }

  const further = furtherLook(problem.prices.spread);
  const watched = new Map<string, Watched>();
  for (const game of problem.games) {
    const key = watchedKey(game);
    const seen = watched.get(key);
    if (seen) {
      watched.set(key, {
        ...seen,
        games: [...seen.games, game],
        officials: Math.max(seen.officials, game.officialIds.length),
      });
      continue;
    }
    const pairTimes = new Map<string, number>();
    let timesSeen = 0;
    const sharesOf = new Map<string, number[]>();
    for (const standing of problem.standing) {
      if (game.crewId === null || standing.crewId !== game.crewId) continue;
      timesSeen += 1;
      sharesOf.set(standing.gameId, [...(sharesOf.get(standing.gameId) ?? []), standing.watchedShare ?? 1]);
      pairTimes.set(standing.observerId, (pairTimes.get(standing.observerId) ?? 0) + 1);
    }
    const officials = game.officialIds.length || usualCrewSize;
    watched.set(key, {
      key,
      crewId: game.crewId,
      games: [game],
      officials,
      timesSeen,
      gamesWorth: [...sharesOf.values()].reduce((sum, shares) => sum + sharesWorth(shares, further), 0),
      pairTimes,
    });
  }

  const candidates: Candidate[] = [];
  const byChoice = new Map<string, Candidate>();
  for (const game of problem.games) {
    for (const observer of problem.observers) {
      const miles = tripMiles(observer, game);
      const standing = standingOf.get(observer.id) ?? [];
      for (const mode of ['in person', 'film'] as Mode[]) {
        const candidate: Candidate = {
          gameId: game.id,
          observerId: observer.id,
          mode,
          game,
          observer,
          miles,
          wayCost: mode === 'film' ? problem.prices.film : (miles ?? problem.prices.unknownDistance),
          broken: [
            ...rulesBrokenAlone(observer, game, mode, miles),
            ...rulesBrokenBeside(observer, game, mode, standing),
          ],
          locked: locked.has(`${game.id}\n${observer.id}\n${mode}`),
        };
        candidates.push(candidate);
        byChoice.set(choiceKey(candidate), candidate);
      }
    }
  }

  const crewIds = new Set<string>();
  const pairs: { observerId: string; crewId: string }[] = [];
  for (const { crewId, observerId } of problem.standing)
    if (crewId !== null) {
      crewIds.add(crewId);
      pairs.push({ observerId, crewId });
    }
  for (const game of problem.games) if (game.crewId !== null) crewIds.add(game.crewId);

  return {
    problem,
    games,
    observers,
    candidates,
    candidate: (choice) => byChoice.get(choiceKey(choice)),
    watched,
    standingOf,
    separateGroups: groupsOf([...crewIds], pairs).slice(1),
  };
}
