import type { BrokenRule } from '../../planning/rules.ts';
import { type SeasonGame, type SeasonMaterial, stands } from '../season-material.ts';

export function titleOf(game: SeasonGame): string {
  return `${game.visitor.name} at ${game.home.name}`;
}

export const nameIn = (material: SeasonMaterial) => {
  const names = new Map(material.observers.map(({ id, name }) => [id, name]));
  return (id: string) => names.get(id) ?? 'an observer no longer active';
};

export function wantedOn(game: SeasonGame, material: SeasonMaterial): number {
  return game.observersWanted ?? material.settings.observersPerGame;
}

/** How often a game's crew is assigned an observer over the season, in words. */
export function crewSeen(material: SeasonMaterial, game: SeasonGame): string {
  if (!game.crew) return '';
  const games = new Set(material.games.filter(({ crew }) => crew?.id === game.crew?.id).map(({ id }) => id));
  const seen = material.assignments.filter(
    (one) => stands(one) && games.has(one.gameId) && one.gameId !== game.id,
  );
  if (seen.length === 0) return 'not seen in other games';
  const observers = new Set(seen.map(({ observerId }) => observerId)).size;
  return `seen ${seen.length} ${seen.length === 1 ? 'time' : 'times'} besides, by ${observers} ${observers === 1 ? 'observer' : 'observers'}`;
}

const shortNames: Readonly<Record<string, string>> = {
  'way of watching': 'film only',
  availability: 'away',
  'declared conflict': 'conflict',
  'travel limit': 'too far',
  'one place at a time': 'elsewhere',
  'weekly limit': 'week full',
  'season limit': 'season full',
};

export function shortest(broken: readonly BrokenRule[]): string {
  const [first] = broken;
  return first ? (shortNames[first.rule] ?? first.rule) : '';
}
