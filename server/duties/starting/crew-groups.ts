import type { CrewSize, Position } from '../../football/positions.ts';

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
