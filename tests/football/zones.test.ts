import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mirrorPosition, positionsOf } from '../../server/football/crews.ts';
import { mirrorPlay } from '../../server/football/mirror.ts';
import type { Play } from '../../server/football/play.ts';
import type { CrewSize } from '../../server/football/positions.ts';
import { mirrorPractices, practicesSchema, usualPractices } from '../../server/football/practices.ts';
import { crewOnField } from '../../server/football/zones/crew-on-field.ts';
import {
  leavesASpot,
  sidelineOfficial,
  spotOwner,
  whoMayHaveEnded,
} from '../../server/football/zones/ending.ts';
import {
  goalLineOfficials,
  ownGoalLineOfficials,
  touchdownOfficials,
} from '../../server/football/zones/goal-lines.ts';
import { zoneOf } from '../../server/football/zones/place.ts';
import { zoneOfTheLooseBall, zoneOfThePass } from '../../server/football/zones/ruling.ts';
import { anyCompletePlay, anyCrew, anyCrewSize, anyPlay } from '../support/arbitrary-football.ts';

const crewOf = (size: CrewSize) => crewOnField(positionsOf(size), usualPractices);
const anyPractices = fc
  .record({ spotInTheMiddle: fc.constantFrom('head linesman', 'line judge') })
  .map((chosen) => practicesSchema.parse(chosen));

// Common practice, no source.
describe('who may have ended a play snapped on the 40', () => {
  it.each([
    [7, { endSpot: 44, endSide: 'line judge side' }, ['line judge']],
    [8, { endSpot: 44, endSide: 'middle' }, ['umpire', 'center judge', 'head linesman', 'line judge']],
    [7, { endSpot: 36, endSide: 'middle' }, ['referee']],
    [7, { endSpot: 55, endSide: 'head linesman side' }, ['head linesman']],
    [7, { endSpot: 56, endSide: 'head linesman side' }, ['side judge']],
    [5, { endSpot: 56, endSide: 'head linesman side' }, ['head linesman']],
    [4, { endSpot: 90, endSide: 'line judge side' }, ['line judge']],
    [6, { endSpot: 70, endSide: 'middle' }, ['side judge', 'field judge']],
    [5, { endSpot: 70, endSide: 'middle' }, ['back judge']],
    [7, { endSpot: 70, endSide: 'middle', endedBy: 'umpire' }, ['umpire']],
  ] as const)('crew of %i, %o: %o', (size, end, expected) => {
    expect(whoMayHaveEnded({ kind: 'run', spot: 40, ...end }, crewOf(size))).toEqual(expected);
  });

  it('is unknown while the place is', () => {
    expect(whoMayHaveEnded({ kind: 'run', spot: 40, endSpot: 44 }, crewOf(7))).toBe('unknown');
  });
});

describe('the spot', () => {
  const ended = (play: Partial<Play>): Play => ({ kind: 'run', spot: 40, score: 'none', ...play });

  // Common practice, no source.
  it.each([
    [
      'a sack that the referee whistles',
      7,
      { endSpot: 33, endSide: 'line judge side', endedBy: 'referee' },
      'line judge',
    ],
    [
      'a run that the umpire ends',
      7,
      { endSpot: 43, endSide: 'head linesman side', endedBy: 'umpire' },
      'head linesman',
    ],
    ['a run up the middle', 8, { endSpot: 43, endSide: 'middle', endedBy: 'center judge' }, 'head linesman'],
    ['a deep catch in the middle', 7, { endSpot: 70, endSide: 'middle' }, 'back judge'],
    ['a deep run at a side, no deep wings', 5, { endSpot: 70, endSide: 'line judge side' }, 'line judge'],
    ['a deep run at a side', 6, { endSpot: 70, endSide: 'line judge side' }, 'field judge'],
  ] as const)('of %s, crew of %i', (_what, size, end, owner) => {
    expect(spotOwner(ended(end), crewOf(size))).toBe(owner);
  });

  it('behind a goal line is as on it', () => {
    fc.assert(
      fc.property(
        anyCompletePlay,
        anyCrew,
        fc.integer({ min: 101, max: 150 }),
        (play, { present }, beyond) => {
          const crew = crewOnField(present, usualPractices);
          for (const [line, behind] of [
            [100, beyond],
            [0, 100 - beyond],
          ] as const) {
            const on = { ...play, endSpot: line };
            const over = { ...play, endSpot: behind };
            expect(spotOwner(over, crew)).toBe(spotOwner(on, crew));
            expect(leavesASpot(over)).toBe(leavesASpot(on));
            expect(touchdownOfficials(over, crew)).toEqual(touchdownOfficials(on, crew));
          }
        },
      ),
    );
  });

  it('belongs to exactly one official who is there, on every play that leaves one', () => {
    fc.assert(
      fc.property(anyCompletePlay, anyCrew, (play, crew) => {
        const owner = spotOwner(play, crewOnField(crew.present, usualPractices));
        if (leavesASpot(play) === true) expect(crew.present).toContain(owner);
        else expect(owner).toBe('nobody');
      }),
    );
  });
});

describe('zones', () => {
  it('are the mirrored ones on the mirrored play, with mirrored practices', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, anyPractices, (play, size, practices) => {
        const here = crewOnField(positionsOf(size), practices);
        const there = crewOnField(positionsOf(size), mirrorPractices(practices));
        for (const zone of [
          whoMayHaveEnded,
          zoneOfThePass,
          zoneOfTheLooseBall,
          goalLineOfficials,
          touchdownOfficials,
          ownGoalLineOfficials,
          sidelineOfficial,
        ]) {
          const one = zone(play, here);
          const other = zone(mirrorPlay(play), there);
          if (one === 'unknown') expect(other).toBe('unknown');
          else expect([...other].sort()).toEqual(one.map(mirrorPosition).sort());
        }
        const owner = spotOwner(play, here);
        const known = owner !== 'unknown' && owner !== 'nobody';
        expect(spotOwner(mirrorPlay(play), there)).toBe(known ? mirrorPosition(owner) : owner);
      }),
    );
  });

  it('have somebody everywhere, in full crews and in crews with officials missing', () => {
    fc.assert(
      fc.property(
        anyCrew,
        fc.integer({ min: -30, max: 80 }),
        fc.constantFrom('head linesman side', 'middle', 'line judge side'),
        (crew, depth, lane) => {
          const zone = zoneOf({ depth, lane }, 'carried', crewOnField(crew.present, usualPractices));
          expect(zone.length).toBeGreaterThan(0);
          for (const position of zone) expect(crew.present).toContain(position);
        },
      ),
    );
  });
});
