import { type Alternative, alternatives } from '../../planning/alternatives.ts';
import { distanceInWords } from '../../planning/distance.ts';
import { prepare } from '../../planning/prepared-problem.ts';
import type { Spread } from '../../planning/prices.ts';
import { inWords } from '../../planning/rules.ts';
import { hasPassed, type SeasonMaterial, stands } from '../season-material.ts';
import { planningProblemOf, presentPlan } from '../season-problem.ts';
import { changeInParts, signed } from './cost-lines.ts';
import { exchanges } from './exchange-lines.ts';
import { nameIn, wantedOn } from './game-words.ts';

/** One row of the page on which a place is filled by hand. */
interface AlternativeLine {
  readonly value: string;
  readonly observerId: string;
  readonly name: string;
  readonly how: string;
  readonly distance: string;
  /** In whole miles with its sign. */
  readonly change: string;
  readonly parts: string;
  readonly broken: readonly string[];
  readonly seasonGames: number;
  readonly gamesWithCrew: number;
  readonly checked: boolean;
}

interface PlaceQuestion {
  readonly gameId: string;
  /** Whose place it is, or null for an empty one. */
  readonly replacing: string | null;
  readonly picked: string | null;
}

/** The alternatives for one place with their costs, for choosing by hand. */
export function placeView(material: SeasonMaterial, spread: Spread, question: PlaceQuestion) {
  const game = material.games.find(({ id }) => id === question.gameId);
  if (!game) return null;
  const scope = { week: game.week, rest: false, over: game.over };
  const prepared = prepare(planningProblemOf(material, scope, spread));
  if (!prepared.games.has(game.id)) return { game, closed: true as const };
  const present = presentPlan(material, scope);
  const here = present.filter((choice) => choice.gameId === game.id);
  // A game that has all it wants from one observer: another can only come in that one's place.
  const onlyOne = here.length === 1 && here.length >= wantedOn(game, material) ? here[0]!.observerId : null;
  const replacing = question.replacing ?? onlyOne;
  const standing = material.assignments.filter((one) => one.gameId === game.id && stands(one));
  // Whoever let an offer pass unanswered may have been there all the same.
  const settled = standing.filter((one) => !hasPassed(one, game));
  const list = alternatives(prepared, present, game.id, replacing).filter(
    ({ choice }) => !settled.some((one) => one.observerId === choice.observerId && one.mode === choice.mode),
  );
  const name = nameIn(material);
  const filled = (alternative: Alternative) => alternative.change.total - alternative.change.unfilled;
  const lines = list.map(
    (alternative): AlternativeLine => ({
      value: `${alternative.choice.observerId}|${alternative.choice.mode}`,
      observerId: alternative.choice.observerId,
      name: name(alternative.choice.observerId),
      how: inWords(alternative.choice.mode),
      distance:
        alternative.choice.mode === 'film'
          ? 'no travel'
          : alternative.miles === null
            ? 'unknown'
            : distanceInWords(alternative.miles),
      change: signed(filled(alternative)),
      parts: changeInParts(alternative.change),
      broken: alternative.broken.map(({ why }) => why),
      seasonGames: alternative.seasonGames,
      gamesWithCrew: alternative.gamesWithCrew,
      checked: question.picked === `${alternative.choice.observerId}|${alternative.choice.mode}`,
    }),
  );
  const current = present.find((choice) => choice.gameId === game.id && choice.observerId === replacing);
  return {
    closed: false as const,
    game,
    replacing,
    standing: standingOn(material, game.id),
    more: current === undefined && here.length >= wantedOn(game, material),
    prepared,
    present,
    current: current ? { ...current, name: name(current.observerId), how: inWords(current.mode) } : null,
    keeping: lines.filter((line) => line.broken.length === 0),
    breaking: lines.filter((line) => line.broken.length > 0),
    exchanges: current && !game.over ? exchanges(material, prepared, present, current, name) : [],
  };
}

/** Who watches a game as it stands, as one text: a page sent back is held against it, so that nobody chooses unseen. */
export function standingOn(material: SeasonMaterial, gameId: string): string {
  return material.assignments
    .filter((one) => one.gameId === gameId && stands(one))
    .map(({ observerId, mode, answer }) => `${observerId} ${mode} ${answer}`)
    .sort()
    .join(',');
}
