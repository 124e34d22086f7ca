import { factNames } from '../fact-words.ts';
import type { Fact, Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Found } from './contradiction.ts';

const named = ['endedBy', 'ruledBy', 'clockStoppedBy'] as const satisfies Fact[];

/** Officials whom a play names and who did not work the game. Nothing while nobody is entered as working it. */
export function officialsNotThere(play: Play, crew: ReadonlySet<Position>): Found[] {
  if (crew.size === 0) return [];
  const fix = 'Name another official, or correct the working crew.';
  const found: Found[] = named.flatMap((fact) => {
    const who = play[fact];
    if (who === undefined || crew.has(who)) return [];
    return [{ fact, says: `The ${who} did not work this game, but is named: ${factNames[fact]}.`, fix }];
  });
  for (const { foul, reportedBy: who } of play.fouls ?? []) {
    if (who === undefined || crew.has(who)) continue;
    found.push({ fact: 'fouls', says: `The ${who} did not work this game, but reported ${foul}.`, fix });
  }
  return found;
}
