import type { CrewSize, Position } from './positions.ts';
import { positions } from './positions.ts';
import type { Side } from './sides.ts';

// Which positions a crew of each size has. Common practice, no source; a conference that works six with a back
// judge enters its working crew as it is, and `whoCovers` follows who is really there.
const wingsAndBox: readonly Position[] = ['referee', 'umpire', 'head linesman', 'line judge'];
const members: Readonly<Record<CrewSize, readonly Position[]>> = {
  4: wingsAndBox,
  5: [...wingsAndBox, 'back judge'],
  6: [...wingsAndBox, 'side judge', 'field judge'],
  7: [...wingsAndBox, 'side judge', 'field judge', 'back judge'],
  8: positions,
};

/** The positions of a full crew of this size, in the trade's order. */
export function positionsOf(crewSize: CrewSize): readonly Position[] {
  return members[crewSize];
}

export const wings = ['head linesman', 'line judge'] as const satisfies readonly Position[];
export const deepWings = ['side judge', 'field judge'] as const satisfies readonly Position[];

const sideByPosition: Partial<Record<Position, Side>> = {
  'head linesman': 'head linesman side',
  'side judge': 'head linesman side',
  'line judge': 'line judge side',
  'field judge': 'line judge side',
};

/**
 * The sideline a position works, or undefined for those in the middle. The side judge is behind the head
 * linesman and the field judge behind the line judge in every crew size that has them (6 to 8). Common
 * practice, no source.
 */
export function sideOf(position: Position): Side | undefined {
  return sideByPosition[position];
}

const across: Partial<Record<Position, Position>> = {
  'head linesman': 'line judge',
  'line judge': 'head linesman',
  'side judge': 'field judge',
  'field judge': 'side judge',
};

/** The same job on the other sideline; a position in the middle is its own mirror. */
export function mirrorPosition(position: Position): Position {
  return across[position] ?? position;
}

// Who takes over, in order of preference; the first group with anybody present takes the duty. A group of two
// shares it, each on their own side. Symmetric across the field, so that mirrored plays give mirrored wings.
const covers: Readonly<Record<Position, readonly (readonly Position[])[]>> = {
  referee: [['umpire'], ['center judge'], wings],
  umpire: [['center judge'], ['referee'], wings],
  'center judge': [['umpire'], ['referee'], wings],
  'head linesman': [['side judge'], ['line judge'], ['umpire'], ['referee']],
  'line judge': [['field judge'], ['head linesman'], ['umpire'], ['referee']],
  'side judge': [['head linesman'], ['back judge'], ['line judge'], ['referee']],
  'field judge': [['line judge'], ['back judge'], ['head linesman'], ['referee']],
  'back judge': [deepWings, wings, ['referee']],
};

/** Who owes the duty of a position: itself when present, else who covers for it; empty when nobody is there. */
export function whoCovers(position: Position, present: ReadonlySet<Position>): readonly Position[] {
  if (present.has(position)) return [position];
  for (const group of covers[position]) {
    const there = group.filter((candidate) => present.has(candidate));
    if (there.length > 0) return there;
  }
  return [];
}
