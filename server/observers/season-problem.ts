import type {
  Absence,
  Choice,
  GameToWatch,
  PlanningProblem,
  Standing,
} from '../planning/planning-problem.ts';
import { defaultPrices, type Spread } from '../planning/prices.ts';
import {
  type Assignment,
  type SeasonGame,
  type SeasonMaterial,
  stands,
  watchedShare,
} from './season-material.ts';

/** One week, or that week and all after it. */
export interface PlanScope {
  readonly week: number;
  readonly rest: boolean;
  /** With games that are over: a person says who watched them, or asks for their film; no suggestion does. */
  readonly over?: boolean;
}

/** Games still open in the scope: no report was begun, and they are still to come unless it says otherwise. */
export function gamesInScope(material: SeasonMaterial, scope: PlanScope): SeasonGame[] {
  return material.games.filter(
    (game) =>
      !game.reported &&
      (scope.over || !game.over) &&
      (scope.rest ? game.week >= scope.week : game.week === scope.week),
  );
}

function asGameToWatch(game: SeasonGame, material: SeasonMaterial): GameToWatch {
  return {
    id: game.id,
    week: game.week,
    date: game.date,
    place: game.place,
    teamIds: [game.home.id, game.visitor.id],
    crewId: game.crew?.id ?? null,
    officialIds: game.officials.map(({ id }) => id),
    observersWanted: game.observersWanted ?? material.settings.observersPerGame,
    filmAllowed: game.filmAllowed,
  };
}

/** What a person has decided: an accepted or locked assignment stays through any suggestion. */
export function isSettled(assignment: Assignment): boolean {
  return stands(assignment) && (assignment.answer === 'accepted' || assignment.locked);
}

export function asChoice({ gameId, observerId, mode }: Assignment): Choice {
  return { gameId, observerId, mode };
}

/**
 * The planner's problem for a scope of a season. Offers that nobody has answered or locked are open to change;
 * an observer who declined a game is not sent to it again.
 */
export function planningProblemOf(
  material: SeasonMaterial,
  scope: PlanScope,
  spread: Spread,
): PlanningProblem {
  const games = gamesInScope(material, scope);
  const planned = new Set(games.map(({ id }) => id));
  const gameOf = new Map(material.games.map((game) => [game.id, game]));
  const active = material.assignments.filter(stands);
  const standing: Standing[] = active
    .filter(({ gameId }) => !planned.has(gameId))
    .flatMap((assignment) => {
      const game = gameOf.get(assignment.gameId);
      if (!game) return [];
      return [
        {
          ...asChoice(assignment),
          week: game.week,
          date: game.date,
          crewId: game.crew?.id ?? null,
          watchedShare: watchedShare(assignment),
        },
      ];
    });
  const declined = new Map<string, string[]>();
  for (const { observerId, gameId, answer, withdrawn } of material.assignments)
    if (answer === 'declined' && !withdrawn)
      declined.set(observerId, [...(declined.get(observerId) ?? []), gameId]);
  const { settings } = material;
  return {
    games: games.map((game) => asGameToWatch(game, material)),
    observers: material.observers.map((observer) => ({
      ...observer,
      absences: [...observer.absences, ...daysWorked(material, observer.id)],
      declinedGameIds: declined.get(observer.id) ?? [],
    })),
    standing,
    locked: active
      .filter((assignment) => planned.has(assignment.gameId) && isSettled(assignment))
      .map(asChoice),
    crewTarget: scope.rest ? settings.crewTarget : null,
    prices: {
      ...defaultPrices,
      film: settings.film,
      repeatedPair: settings.repeatedPair,
      load: settings.load,
      information: settings.information,
      spread,
    },
  };
}

/** An observer who is an official too cannot be in another stadium on a day they work. */
function daysWorked(material: SeasonMaterial, personId: string): Absence[] {
  return material.games
    .filter(({ officials }) => officials.some(({ id }) => id === personId))
    .map(({ date }) => ({ from: date, to: date, of: 'in person' }));
}

/** The present state of the games in scope as a plan: every offer and acceptance. */
export function presentPlan(material: SeasonMaterial, scope: PlanScope): Choice[] {
  const planned = new Set(gamesInScope(material, scope).map(({ id }) => id));
  return material.assignments
    .filter((assignment) => stands(assignment) && planned.has(assignment.gameId))
    .map(asChoice);
}
