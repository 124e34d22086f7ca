import { watchedOn } from '../server/duties/watched.ts';
import { type Position, positions } from '../server/football/positions.ts';
import type { Draws } from './draws.ts';
import type { DemoMark } from './marks.ts';

/** Whom an observer did not watch on some plays (numbers, both in it; null: the first, the last). */
export interface NotWatched {
  from: number | null;
  to: number | null;
  positions: readonly Position[];
}

/** How many observers in the stadium miss a part of the game. */
const partlyShare = 0.2;
const deep = ['field judge', 'side judge', 'back judge'] as const;

/** Most see everything; some come late, sit behind a wet window for a while, or cannot see one official. */
export function notWatchedInPerson(draws: Draws, plays: number): NotWatched[] {
  if (!draws.chance(partlyShare)) return [];
  const way = draws.pick(['late', 'rain', 'one']);
  if (way === 'late') return [{ from: null, to: draws.integer(8, 25), positions }];
  if (way === 'one') return [{ from: null, to: null, positions: [draws.pick(deep)] }];
  const from = draws.integer(60, plays - 50);
  return [{ from, to: from + draws.integer(15, 40), positions: deep }];
}

const numbersOf = (plays: number) => Array.from({ length: plays }, (_, at) => `${at + 1}`);

/** What is kept of a report, ends of ranges by what `idOf` gives for a play's number. */
export function watchedOf(missed: readonly NotWatched[], idOf: (play: number) => string) {
  const without = (gone: readonly Position[]) => positions.filter((position) => !gone.includes(position));
  const whole = missed.find(({ from, to }) => from === null && to === null);
  return {
    positions: without(whole?.positions ?? []),
    stretches: missed
      .filter((each) => each !== whole)
      .map(({ from, to, positions: gone }) => ({
        from: from === null ? null : idOf(from),
        to: to === null ? null : idOf(to),
        positions: without([...gone, ...(whole?.positions ?? [])]),
      })),
  };
}

/** The marks that somebody makes who did not watch all. */
export function marksSeen(
  marks: readonly DemoMark[],
  missed: readonly NotWatched[],
  plays: number,
): DemoMark[] {
  const seen = watchedOn(watchedOf(missed, String), numbersOf(plays));
  return marks.filter(({ play, position }) => seen(`${play}`, position));
}

/** `1-14: everybody; whole game: back judge`; empty when everything was watched. */
export function notWatchedText(missed: readonly NotWatched[]): string {
  return missed
    .map(({ from, to, positions: gone }) => {
      const plays = from === null && to === null ? 'whole game' : `${from ?? 1}-${to ?? ''}`;
      return `${plays}: ${gone.length === positions.length ? 'everybody' : gone.join(', ')}`;
    })
    .join('; ');
}

export function readNotWatched(text: string): NotWatched[] {
  return text
    .split('; ')
    .filter((each) => each !== '')
    .map((each): NotWatched => {
      const [plays = '', gone = ''] = each.split(': ');
      const [from, to] = plays === 'whole game' ? [null, null] : plays.split('-');
      const named = gone.split(', ') as Position[];
      return {
        from: from ? Number(from) : null,
        to: to ? Number(to) : null,
        positions: gone === 'everybody' ? positions : named,
      };
    });
}
