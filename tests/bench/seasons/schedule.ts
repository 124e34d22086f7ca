import type { Draws } from '../../../seed-demo/draws.ts';
import { type Position, positions } from '../../../server/football/positions.ts';
import type { SeasonShape } from './shape.ts';

export interface ScheduledGame {
  game: string;
  week: number;
  crew: number;
  /** Which part of the conference it belongs to: parts never meet. */
  part: number;
  officials: ReadonlyMap<Position, string>;
  /** Who reports on it, and on which positions. */
  reports: readonly { observer: number; positions: readonly Position[] }[];
}

/** Substitutes work two positions each, every position has two in the conference. */
const substituteCount = 8;

export const observerName = (observer: number): string => `observer ${observer}`;

/** Who works which game and who sees it: those with the fewest reports, who saw its crew least. */
export function drawSchedule(shape: SeasonShape, draws: Draws): ScheduledGame[] {
  const { crews, parts } = shape;
  const load = Array.from({ length: shape.observers }, () => 0);
  const seen = new Map<string, number>();
  // The last observer is kept for the umpires where one observer sees them all.
  const generalists = load.map((_, at) => at).slice(0, shape.umpireSeenByOne ? -1 : undefined);
  const games: ScheduledGame[] = [];
  for (let week = 1; week <= shape.weeks; week += 1) {
    const freeSubstitutes = new Set(Array.from({ length: substituteCount }, (_, at) => at));
    for (let at = 0; at < shape.gamesPerWeek; at += 1) {
      const crew = games.length % crews;
      const part = crew % parts;
      const officials = new Map(
        positions.map((position, p) => {
          const substitute = [...freeSubstitutes].find(
            (one) => one % 4 === p % 4 && Math.floor(one / 4) % parts === part,
          );
          if (!draws.chance(shape.substitutes) || substitute === undefined)
            return [position, `crew ${crew}, ${position}`];
          freeSubstitutes.delete(substitute);
          return [position, `substitute ${substitute}`];
        }),
      );
      const own = generalists.filter((observer) => observer % parts === part);
      const few = shape.observersPerCrew;
      const allowed =
        few === undefined ? own : Array.from({ length: few }, (_, i) => own[(crew + i) % own.length]!);
      const watching: number[] = [];
      const choose = (from: readonly number[]) => {
        const cost = (observer: number) => load[observer]! + 2 * (seen.get(`${observer} ${crew}`) ?? 0);
        const free = draws.shuffled(from.filter((observer) => !watching.includes(observer)));
        const chosen = free.reduce((best, observer) => (cost(observer) < cost(best) ? observer : best));
        load[chosen]! += 1;
        seen.set(`${chosen} ${crew}`, (seen.get(`${chosen} ${crew}`) ?? 0) + 1);
        watching.push(chosen);
      };
      const harsh = crew === 0 ? shape.harshToFirstCrew : undefined;
      choose(harsh && draws.chance(0.5) ? allowed.slice(0, harsh.observers) : allowed);
      if (draws.chance(shape.seenTwice)) choose(allowed);
      const reports: ScheduledGame['reports'] = shape.umpireSeenByOne
        ? [
            ...watching.map((observer) => ({
              observer,
              positions: positions.filter((position) => position !== 'umpire'),
            })),
            { observer: shape.observers - 1, positions: ['umpire'] },
          ]
        : watching.map((observer) => ({ observer, positions }));
      games.push({ game: `game ${games.length}`, week, crew, part, officials, reports });
    }
  }
  return games;
}
