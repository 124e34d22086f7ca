import type { ComparedGroup } from './comparison.ts';
import type { CountRow, Event } from './counts.ts';
import { permutedShare } from './game-permutation.ts';
import type { GameBesideUsual } from './trend.ts';

/** What a group's rows say game by game: plays of one game hang together, so a game is the unit of several tests. */

interface GameOfUnit {
  events: number;
  usual: number;
  selfPairs: number;
}

/**
 * Each unit's games: its events in them, what `usual` (by row number) would give, and the part of the square
 * of that which would pair a chance with itself.
 */
export function gamesOfUnits(compared: ComparedGroup, event: Event, usual: Float64Array): GameOfUnit[][] {
  const units: Map<number, GameOfUnit>[] = Array.from({ length: compared.size }, () => new Map());
  const { counts, unitOfMember } = compared;
  const { members } = compared.group;
  for (let i = 0; i < members.length; i++) {
    const member = members[i]!;
    const row = counts.rows[member]!;
    const games = units[unitOfMember[i]!]!;
    const number = counts.game.of[member]!;
    let game = games.get(number);
    if (!game) {
      game = { events: 0, usual: 0, selfPairs: 0 };
      games.set(number, game);
    }
    game.events += row[event];
    game.usual += usual[member]!;
    game.selfPairs += usual[member]! ** 2 / row.opportunities;
  }
  return units.map((games) => [...games.values()]);
}

/**
 * Variance of a unit's events, given all events of each stratum, over that of the exact test, when each game
 * has a factor of its own on the rate with the variance given. A small change of the unit's games against the
 * others' moves its share by M p (1 - p) for M events in the stratum and p the unit's share of chances; strata
 * that share a game move together.
 */
export function overdispersion(
  compared: ComparedGroup,
  unit: number,
  event: Event,
  gameVariance: number,
): number {
  const width = compared.strataCount;
  const { counts, unitOfMember, stratumOfMember } = compared;
  const sway = new Float64Array(width);
  let exact = 0;
  for (let k = 0; k < width; k++) {
    const n = compared.opportunitiesOf(unit, k);
    const allN = compared.ofAll('opportunities', unit, k);
    const allX = compared.ofAll(event, unit, k);
    if (n === 0 || n === allN || allX === 0) continue;
    const share = n / allN;
    sway[k] = allX * share * (1 - share);
    exact += (sway[k]! * (allN - allX)) / Math.max(1, allN - 1);
  }
  if (exact <= 0) return 1;
  const games = new Map<number, number>();
  const { members } = compared.group;
  for (let i = 0; i < members.length; i++) {
    const k = stratumOfMember[i]!;
    if (sway[k] === 0) continue;
    const own = unitOfMember[i] === unit;
    if (!own && compared.isLeftOut(unitOfMember[i]!)) continue;
    const n = compared.opportunitiesOf(unit, k);
    const of = own ? n : n - compared.ofAll('opportunities', unit, k); // others pull the other way
    const game = counts.game.of[members[i]!]!;
    const pull = (sway[k]! * counts.rows[members[i]!]!.opportunities) / of;
    games.set(game, (games.get(game) ?? 0) + pull);
  }
  let squares = 0;
  for (const pull of games.values()) squares += pull * pull;
  return 1 + (gameVariance * squares) / exact;
}

/**
 * What each game has more than its strata give, the unit's games and the others' in the baseline apart: each row's
 * events less its chances times the rate of its stratum, the unit's own included.
 */
function excessByGame(
  compared: ComparedGroup,
  unit: number,
  event: Event,
): { own: number[]; others: number[] } {
  const own = new Map<string, number>();
  const others = new Map<string, number>();
  const { counts, unitOfMember, stratumOfMember } = compared;
  const { members } = compared.group;
  for (let i = 0; i < members.length; i++) {
    const isOwn = unitOfMember[i] === unit;
    if (!isOwn && compared.isLeftOut(unitOfMember[i]!)) continue;
    const row = counts.rows[members[i]!]!;
    const k = stratumOfMember[i]!;
    const rate = compared.ofAll(event, unit, k) / compared.ofAll('opportunities', unit, k);
    const games = isOwn ? own : others;
    games.set(row.game, (games.get(row.game) ?? 0) + row[event] - row.opportunities * rate);
  }
  const inOrder = (games: Map<string, number>) =>
    [...games].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, more]) => more);
  return { own: inOrder(own), others: inOrder(others) };
}

/** One-sided p-value of the unit's games having so many more, when whole games are exchanged between units. */
export function permutedGames(compared: ComparedGroup, unit: number, event: Event): number {
  const { own, others } = excessByGame(compared, unit, event);
  return permutedShare(own, others);
}

/** Expected misses with which an observer's severity over all duties goes into what is usual at one duty. */
const severityWorth = 3;

/**
 * A unit's games, each beside what is usual with the observers who watched it: the pooled rate of the duty, times how
 * many more of the others' chances in the same stratum were misses than usual. Where the others are few there, the
 * observer's severity over all duties, which `usual` holds already, fills up for them.
 *
 * @param usual usual misses by row number
 */
export function gamesBesideUsual(
  compared: ComparedGroup,
  unit: number,
  usual: Float64Array,
): GameBesideUsual[] {
  const { counts, unitOfMember, stratumOfMember } = compared;
  const { members } = compared.group;
  const seen = new Map<number, { events: number; usual: number }>();
  for (let i = 0; i < members.length; i++) {
    if (unitOfMember[i] === unit || compared.isLeftOut(unitOfMember[i]!)) continue;
    const others = seen.get(stratumOfMember[i]!) ?? { events: 0, usual: 0 };
    others.events += counts.rows[members[i]!]!.misses;
    others.usual += usual[members[i]!]!;
    seen.set(stratumOfMember[i]!, others);
  }
  const games = new GamesBesideUsual();
  for (let i = 0; i < members.length; i++) {
    if (unitOfMember[i] !== unit) continue;
    const row = counts.rows[members[i]!]!;
    const others = seen.get(stratumOfMember[i]!) ?? { events: 0, usual: 0 };
    const strict = (others.events + severityWorth) / (others.usual + severityWorth);
    games.add(row, 1, usual[members[i]!]! * strict);
  }
  return games.all();
}

/** Sums rows into their games. */
export class GamesBesideUsual {
  private readonly games = new Map<string, GameBesideUsual>();

  /** @param usual misses usual in the row, before its weight */
  add(row: CountRow, weight: number, usual: number): void {
    let game = this.games.get(row.game);
    if (!game) {
      game = { week: row.week, game: row.game, chances: 0, events: 0, usual: 0 };
      this.games.set(row.game, game);
    }
    game.chances += weight * row.opportunities;
    game.events += weight * row.misses;
    game.usual += weight * usual;
  }

  all(): GameBesideUsual[] {
    return [...this.games.values()];
  }
}
