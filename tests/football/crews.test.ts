import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mirrorPosition, positionsOf, sideOf, whoCovers } from '../../server/football/crews.ts';
import { crewSizes, positions } from '../../server/football/positions.ts';
import { mirrorLane } from '../../server/football/sides.ts';
import { anyCrew } from '../support/arbitrary-football.ts';

describe('crews of four to eight', () => {
  it('have as many positions as their size, each larger crew keeping the wings and the box', () => {
    for (const size of crewSizes) {
      expect(positionsOf(size)).toHaveLength(size);
      expect(positionsOf(size)).toEqual(
        expect.arrayContaining(['referee', 'umpire', 'head linesman', 'line judge']),
      );
    }
  });

  it('leave no duty without an official, whoever is missing', () => {
    fc.assert(
      fc.property(anyCrew, (crew) => {
        const present = new Set(crew.present);
        for (const position of positions) {
          const covering = whoCovers(position, present);
          expect(covering.length).toBeGreaterThan(0);
          for (const who of covering) expect(present.has(who)).toBe(true);
        }
      }),
    );
  });

  it('cover for each other in the same way on both sides of the field', () => {
    fc.assert(
      fc.property(anyCrew, (crew) => {
        const present = new Set(crew.present);
        const mirrored = new Set(crew.present.map(mirrorPosition));
        for (const position of positions) {
          const here = whoCovers(position, present).map(mirrorPosition).sort();
          expect([...whoCovers(mirrorPosition(position), mirrored)].sort()).toEqual(here);
        }
      }),
    );
  });

  it('have one wing and one deep wing on each side, everybody else in the middle', () => {
    for (const position of positions) {
      const side = sideOf(position);
      const across = sideOf(mirrorPosition(position));
      expect(across).toBe(side === undefined ? undefined : mirrorLane(side));
    }
    expect(sideOf('head linesman')).toBe(sideOf('side judge'));
    expect(sideOf('line judge')).toBe(sideOf('field judge'));
  });
});
