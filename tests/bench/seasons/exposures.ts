import { readFileSync } from 'node:fs';
import { type Position, positions } from '../../../server/football/positions.ts';

/** One duty of one position: what it weighs and how often a game asks for it. */
export interface Exposure {
  duty: string;
  category: string;
  weight: number;
  chancesPerGame: number;
  /** Share of its chances that an ordinary observer of the demo season marks as missed. */
  missRate: number;
}

const lines = readFileSync(new URL('exposures.csv', import.meta.url), 'utf8')
  .trim()
  .split('\n')
  .slice(1);

/** Duties, weights, chances and miss rates of the demo season by position; see `write-exposures.ts`. */
export const exposures: ReadonlyMap<Position, readonly Exposure[]> = new Map(
  positions.map((position) => [
    position,
    lines
      .map((line) => line.split(','))
      .filter(([at]) => at === position)
      .map(([, duty, category, weight, chances, rate]) => ({
        duty: duty!,
        category: category!,
        weight: Number(weight),
        chancesPerGame: Number(chances),
        missRate: Number(rate),
      })),
  ]),
);
