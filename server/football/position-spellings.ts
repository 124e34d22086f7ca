import { type Position, positionLetter, positions } from './positions.ts';

/**
 * Other ways in which the trade writes the positions in lists and spreadsheets. Common practice, no source. "Down
 * judge" and "head line judge" are newer names of the head linesman.
 */
const alsoWritten: Readonly<Record<Position, readonly string[]>> = {
  referee: ['ref'],
  umpire: ['ump'],
  'center judge': ['centre judge', 'center', 'centre', 'cj'],
  'head linesman': ['linesman', 'head lineman', 'head line judge', 'down judge', 'hl', 'hlj', 'dj', 'lm'],
  'line judge': ['lj'],
  'side judge': ['sj'],
  'field judge': ['fj'],
  'back judge': ['bj'],
};

/** Capitals, spaces, hyphens and full stops make no difference. */
const folded = (written: string) => written.toLowerCase().replace(/[^a-z]+/g, '');

const byFolded = new Map<string, Position>(
  positions.flatMap((position) =>
    [position, positionLetter[position], ...alsoWritten[position]].map((written): [string, Position] => [
      folded(written),
      position,
    ]),
  ),
);

/** The position that somebody wrote as its word, its letter or another spelling; undefined for anything else. */
export const positionFrom = (written: string): Position | undefined => byFolded.get(folded(written));
