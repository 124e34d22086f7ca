import type { Foul } from '../server/football/fouls.ts';
import type { Position } from '../server/football/positions.ts';
import type { Draws } from './draws.ts';

/** A kind of foul as the demo season uses it: who does it, what it costs, who usually throws the flag. */
interface FoulKind {
  by: Foul['by'];
  yards: number;
  automaticFirstDown: boolean;
  reporters: readonly Position[];
  /** How often, relative to the others. */
  share: number;
}

const box: readonly Position[] = ['umpire', 'center judge', 'referee'];
const wings: readonly Position[] = ['head linesman', 'line judge'];
const deep: readonly Position[] = ['side judge', 'field judge', 'back judge'];

/** Fouls during the down. Yardages are common practice, no source. */
export const liveBallFouls: Readonly<Record<string, FoulKind>> = {
  holding: { by: 'offense', yards: 10, automaticFirstDown: false, reporters: box, share: 26 },
  'defensive holding': {
    by: 'defense',
    yards: 10,
    automaticFirstDown: true,
    reporters: [...box, ...deep],
    share: 7,
  },
  offside: { by: 'defense', yards: 5, automaticFirstDown: false, reporters: wings, share: 12 },
  'illegal formation': { by: 'offense', yards: 5, automaticFirstDown: false, reporters: wings, share: 5 },
  'defensive pass interference': {
    by: 'defense',
    yards: 15,
    automaticFirstDown: true,
    reporters: deep,
    share: 10,
  },
  'offensive pass interference': {
    by: 'offense',
    yards: 15,
    automaticFirstDown: false,
    reporters: deep,
    share: 4,
  },
  'ineligible receiver downfield': {
    by: 'offense',
    yards: 5,
    automaticFirstDown: false,
    reporters: [...wings, 'umpire'],
    share: 3,
  },
  'block in the back': { by: 'offense', yards: 10, automaticFirstDown: false, reporters: deep, share: 5 },
  facemask: { by: 'defense', yards: 15, automaticFirstDown: true, reporters: [...box, ...wings], share: 5 },
  'horse collar': { by: 'defense', yards: 15, automaticFirstDown: true, reporters: wings, share: 2 },
  'roughing the passer': {
    by: 'defense',
    yards: 15,
    automaticFirstDown: true,
    reporters: ['referee'],
    share: 4,
  },
  'unnecessary roughness': {
    by: 'defense',
    yards: 15,
    automaticFirstDown: true,
    reporters: [...wings, ...deep],
    share: 7,
  },
};

export const passFouls: readonly string[] = [
  'defensive pass interference',
  'offensive pass interference',
  'ineligible receiver downfield',
  'roughing the passer',
];

/** Fouls that keep the ball from being put in play. */
export const deadBallFouls: Readonly<Record<string, FoulKind>> = {
  'false start': {
    by: 'offense',
    yards: 5,
    automaticFirstDown: false,
    reporters: [...wings, ...box],
    share: 10,
  },
  'delay of game': {
    by: 'offense',
    yards: 5,
    automaticFirstDown: false,
    reporters: ['back judge', 'referee'],
    share: 3,
  },
  encroachment: { by: 'defense', yards: 5, automaticFirstDown: false, reporters: wings, share: 2 },
};

export interface DrawnFoul {
  foul: Foul;
  yards: number;
  automaticFirstDown: boolean;
}

export function drawFoul(
  kinds: Readonly<Record<string, FoulKind>>,
  allowed: (name: string) => boolean,
  draws: Draws,
): DrawnFoul {
  const shares = Object.fromEntries(
    Object.entries(kinds)
      .filter(([name]) => allowed(name))
      .map(([name, kind]) => [name, kind.share]),
  );
  const name = draws.weighted(shares);
  const kind = kinds[name] as FoulKind;
  return {
    foul: { foul: name, by: kind.by, reportedBy: draws.pick(kind.reporters), outcome: 'accepted' },
    yards: kind.yards,
    automaticFirstDown: kind.automaticFirstDown,
  };
}
