import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { namedPositions } from '../../../server/duties/named-positions.ts';
import { startingRubric } from '../../../server/duties/starting-rubric.ts';
import { positionsOf } from '../../../server/football/crews.ts';
import { fieldLength, fieldWidth } from '../../../server/football/drawing/field-measures.ts';
import { lineUpOf, lineUps, stationsOf } from '../../../server/football/drawing/stations.ts';
import { type CrewSize, crewSizes } from '../../../server/football/positions.ts';
import { practicesSchema, usualPractices } from '../../../server/football/practices.ts';
import { sides } from '../../../server/football/sides.ts';
import { crewOnField } from '../../../server/football/zones/crew-on-field.ts';

const middle = fieldWidth / 2;
const stand = (lineUp: (typeof lineUps)[number], size: CrewSize, spot: number) =>
  stationsOf(
    { lineUp, ball: { x: middle, y: 10 + spot }, arm: 'line judge side' },
    crewOnField(positionsOf(size), usualPractices),
  );

// Common practice, no source.
describe('where each official stands before the ball is put in play', () => {
  it.each([
    ['scrimmage', 7, 40, 'referee', 'inside', 28],
    ['scrimmage', 7, 40, 'umpire', 'inside', 47],
    ['scrimmage', 7, 40, 'head linesman', 'left', 40],
    ['scrimmage', 7, 40, 'line judge', 'right', 40],
    ['scrimmage', 7, 40, 'side judge', 'left', 60],
    ['scrimmage', 7, 40, 'field judge', 'right', 60],
    ['scrimmage', 7, 40, 'back judge', 'inside', 65],
    ['scrimmage', 5, 40, 'back judge', 'inside', 60],
    ['scrimmage', 8, 40, 'center judge', 'inside', 28],
    // Let nobody behind: near the goal the deep officials stand on its lines.
    ['scrimmage', 7, 85, 'side judge', 'left', 100],
    ['scrimmage', 7, 85, 'back judge', 'inside', 110],
    ['goal line', 7, 97, 'head linesman', 'left', 100],
    ['goal line', 7, 97, 'line judge', 'right', 100],
    ['goal line', 6, 97, 'side judge', 'left', 110],
    ['goal line', 7, 97, 'back judge', 'inside', 110],
    ['reverse goal line', 7, 3, 'line judge', 'right', 3],
    ['punt', 7, 30, 'referee', 'inside', 15],
    ['punt', 7, 30, 'line judge', 'right', 30],
    ['punt', 7, 30, 'field judge', 'right', 65],
    ['punt', 5, 30, 'back judge', 'inside', 75],
    ['place kick', 8, 80, 'field judge', 'inside', 111],
    ['place kick', 8, 80, 'back judge', 'inside', 111],
    ['place kick', 4, 80, 'head linesman', 'inside', 111],
    ['free kick', 7, 35, 'referee', 'inside', 95],
    ['free kick', 7, 35, 'head linesman', 'left', 90],
    ['free kick', 7, 35, 'side judge', 'left', 45],
    ['free kick', 7, 35, 'umpire', 'right', 35],
    ['free kick', 5, 40, 'head linesman', 'left', 50],
    ['free kick', 5, 40, 'line judge', 'right', 90],
  ] as const)(
    '%s, crew of %i, ball on %i: the %s stands %s at %i',
    (lineUp, size, spot, who, where, yards) => {
      const { x, y } = stand(lineUp, size, spot).get(who)!;
      expect(x < 0 ? 'left' : x > fieldWidth ? 'right' : 'inside').toBe(where);
      expect(y - 10).toBe(yards);
    },
  );

  it('deep by the conference’s own practice is deep in the drawing', () => {
    const crew = crewOnField(positionsOf(7), practicesSchema.parse({ backJudgeOnFreeKicks: 'deep' }));
    const at = { lineUp: 'free kick', ball: { x: middle, y: 45 }, arm: 'line judge side' } as const;
    expect(stationsOf(at, crew).get('back judge')!.y).toBe(110);
  });

  it.each(crewSizes)(
    'crew of %i: under the uprights are those who rule on them by the starting rubric',
    (size) => {
      const duty = startingRubric.find(({ key }) => key === 'uprights')!;
      const under = [...stand('place kick', size, 85)]
        .filter(([, { y }]) => y > fieldLength)
        .map(([position]) => position);
      expect(under.sort()).toEqual([...namedPositions(duty, size)].sort());
    },
  );
});

const anyStation = fc.record({
  size: fc.constantFrom(...crewSizes),
  lineUp: fc.constantFrom(...lineUps),
  spot: fc.integer({ min: 0, max: 100 }),
  x: fc.constantFrom(160 / 9, 20, middle, fieldWidth - 20),
  arm: fc.constantFrom(...sides),
});

describe('anywhere on the field', () => {
  it('everybody of the crew stands within it, or just outside its lines', () => {
    fc.assert(
      fc.property(anyStation, ({ size, lineUp, spot, x, arm }) => {
        const crew = crewOnField(positionsOf(size), usualPractices);
        const stations = stationsOf({ lineUp, ball: { x, y: 10 + spot }, arm }, crew);
        expect([...stations.keys()].sort()).toEqual([...positionsOf(size)].sort());
        for (const station of stations.values()) {
          expect(station.x).toBeGreaterThanOrEqual(-2);
          expect(station.x).toBeLessThanOrEqual(fieldWidth + 2);
          expect(station.y).toBeGreaterThanOrEqual(-2);
          expect(station.y).toBeLessThanOrEqual(fieldLength + 2);
        }
      }),
    );
  });

  it('no two stand in one place, from snaps and kicks that can be', () => {
    const from: Record<(typeof lineUps)[number], [number, number]> = {
      scrimmage: [6, 94],
      'goal line': [95, 99],
      'reverse goal line': [1, 5],
      punt: [1, 75],
      'place kick': [50, 99],
      'free kick': [20, 50],
    };
    for (const size of crewSizes) {
      for (const lineUp of lineUps) {
        for (let spot = from[lineUp][0]; spot <= from[lineUp][1]; spot++) {
          const stations = [...stand(lineUp, size, spot)];
          for (const [one, here] of stations) {
            for (const [other, there] of stations) {
              if (one >= other) continue;
              const apart = Math.hypot(here.x - there.x, here.y - there.y);
              expect([size, lineUp, spot, one, other, apart > 3]).toEqual([
                size,
                lineUp,
                spot,
                one,
                other,
                true,
              ]);
            }
          }
        }
      }
    }
  });
});

describe('how the crew lined up', () => {
  it.each([
    [{ kind: 'run', spot: 95 }, 'goal line'],
    [{ kind: 'pass', spot: 94 }, 'scrimmage'],
    [{ kind: 'run', spot: 5 }, 'reverse goal line'],
    [{ kind: 'no snap', spot: 50 }, 'scrimmage'],
    [{ kind: 'try', spot: 97, tryBy: 'kick' }, 'place kick'],
    [{ kind: 'try', spot: 97, tryBy: 'pass' }, 'goal line'],
    [{ kind: 'try', spot: 97 }, 'unknown'],
    [{ kind: 'free kick', spot: 35 }, 'free kick'],
  ] as const)('%o: %s', (play, lineUp) => {
    expect(lineUpOf(play)).toBe(lineUp);
  });
});
