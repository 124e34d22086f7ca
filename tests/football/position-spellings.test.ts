import { expect, it } from 'vitest';
import { positionFrom } from '../../server/football/position-spellings.ts';
import { positionLetter, positions } from '../../server/football/positions.ts';

// Common practice, no source.
it.each([
  ['referee', ['Referee', 'REF', 'R', ' referee ']],
  ['umpire', ['Umpire', 'ump', 'U']],
  ['center judge', ['Centre Judge', 'C', 'CJ']],
  ['head linesman', ['Head Linesman', 'head-linesman', 'linesman', 'HL', 'H', 'h.l.', 'Down Judge', 'DJ']],
  ['line judge', ['LineJudge', 'L', 'LJ']],
  ['side judge', ['S', 'SJ']],
  ['field judge', ['F', 'FJ']],
  ['back judge', ['back judge', 'B', 'BJ']],
] as const)('%s', (position, spellings) => {
  for (const written of spellings) expect(positionFrom(written)).toBe(position);
});

it('reads every word and letter of ours, and nothing else', () => {
  for (const position of positions) {
    expect(positionFrom(position)).toBe(position);
    expect(positionFrom(positionLetter[position])).toBe(position);
  }
  for (const other of ['', 'judge', 'X', 'observer', 'official']) expect(positionFrom(other)).toBeUndefined();
});
