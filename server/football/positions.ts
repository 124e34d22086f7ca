/**
 * The eight on-field positions, in the order the trade lists them.
 * Which of them exist depends on the crew size (see `crews.ts`).
 */
export const positions = [
  'referee',
  'umpire',
  'center judge',
  'head linesman',
  'line judge',
  'side judge',
  'field judge',
  'back judge',
] as const;

export type Position = (typeof positions)[number];

/** Common trade letters, shown beside the word, never instead of it. Common practice, no source. */
export const positionLetter: Readonly<Record<Position, string>> = {
  referee: 'R',
  umpire: 'U',
  'center judge': 'C',
  'head linesman': 'H',
  'line judge': 'L',
  'side judge': 'S',
  'field judge': 'F',
  'back judge': 'B',
};

export const crewSizes = [4, 5, 6, 7, 8] as const;
export type CrewSize = (typeof crewSizes)[number];
