import type { CrewSize, Position } from '../../football/positions.ts';
import type { DutyInput } from '../duty.ts';

export const allSizes: CrewSize[] = [4, 5, 6, 7, 8];
export const withDeepWings: CrewSize[] = [6, 7, 8];

export const wings: Position[] = ['head linesman', 'line judge'];
export const deepWings: Position[] = ['side judge', 'field judge'];
export const deep: Position[] = ['side judge', 'field judge', 'back judge'];
export const wingsAndDeep: Position[] = [...wings, ...deep];
export const everybody: Position[] = [
  'referee',
  'umpire',
  'center judge',
  'head linesman',
  'line judge',
  'side judge',
  'field judge',
  'back judge',
];

/** The two under the uprights on a place kick, by crew size. */
export const underTheUprights = {
  positions: ['field judge', 'back judge'],
  instead: [
    { crewSize: 4, positions: wings },
    { crewSize: 5, positions: ['back judge', 'line judge'] },
    { crewSize: 6, positions: deepWings },
  ],
} satisfies Pick<DutyInput, 'positions' | 'instead'>;
