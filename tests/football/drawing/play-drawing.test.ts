import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Code, codes } from '../../../server/football/codes.ts';
import { mirrorPosition, positionsOf } from '../../../server/football/crews.ts';
import { laneAcross, pointOf } from '../../../server/football/drawing/ball-marks.ts';
import {
  drawingInWords,
  markInWords,
  notDrawn,
  placeInWords,
  whoseItWas,
} from '../../../server/football/drawing/drawing-words.ts';
import {
  betweenUprights,
  fieldLength,
  fieldWidth,
  hashFromSideline,
  mirrorAcross,
} from '../../../server/football/drawing/field-measures.ts';
import { drawPlay, type PlayDrawing } from '../../../server/football/drawing/play-drawing.ts';
import { mirrorPlay } from '../../../server/football/mirror.ts';
import type { Play } from '../../../server/football/play.ts';
import { type CrewSize, type Position, positions } from '../../../server/football/positions.ts';
import { mirrorPractices, usualPractices } from '../../../server/football/practices.ts';
import { crewOnField } from '../../../server/football/zones/crew-on-field.ts';
import { zoneOfADeadKick } from '../../../server/football/zones/kicks.ts';
import { zoneOf } from '../../../server/football/zones/place.ts';
import { anyCrewSize, anyPlay } from '../../support/arbitrary-football.ts';

const crewOf = (size: CrewSize) => crewOnField(positionsOf(size), usualPractices);
const draw = (play: Play, size: CrewSize = 7, code: Code = 'college') =>
  drawPlay(play, crewOf(size), code, new Set());
const anyCode = fc.constantFrom(...codes);

// NCAA Football Rules and NFHS Football Rules, rule 1-2 with the diagram of the field, and the goal posts of the same
// rule, in feet and inches from memory: check the current edition.
describe('the field', () => {
  it('is 53 1/3 yards wide and 120 long with both end zones', () => {
    expect(fieldWidth * 3).toBeCloseTo(160, 10);
    expect(fieldLength).toBe(100 + 10 + 10);
  });

  it.each([
    ['college', 60, 0, 40, 0, 18, 6],
    ['high school', 53, 4, 53, 4, 23, 4],
  ] as const)(
    '%s: hash marks %i ft %i in from the sideline',
    (code, ft, inch, apartFt, apartIn, postFt, postIn) => {
      expect(hashFromSideline[code] * 36).toBeCloseTo(ft * 12 + inch, 10);
      expect((fieldWidth - 2 * hashFromSideline[code]) * 36).toBeCloseTo(apartFt * 12 + apartIn, 10);
      expect(betweenUprights[code] * 36).toBeCloseTo(postFt * 12 + postIn, 10);
    },
  );
});

describe('the places of the ball', () => {
  it.each([
    ['own 34', 34, 44],
    ['midfield', 50, 60],
    ["the opponent's 2", 98, 108],
    ["the opponent's goal line", 100, 110],
  ])('%s is %i yards from the own goal line and %i from the end line', (_what, endSpot, y) => {
    const { marks } = draw({ kind: 'run', spot: 30, endSpot, endSide: 'middle' });
    expect(marks.map((mark) => [mark.kind, mark.y])).toEqual([
      ['snapped', 40],
      ['dead', y],
    ]);
  });

  it.each([
    ['college', 'head linesman side', 20],
    ['college', 'middle', 160 / 6],
    ['college', 'line judge side', 160 / 3 - 20],
    ['high school', 'head linesman side', 53 / 3 + 4 / 36],
  ] as const)('%s: a snap on the hash of the %s lies on that hash', (code, snapSide, x) => {
    expect(pointOf(draw({ kind: 'run', spot: 30, snapSide }, 7, code).marks[0]!)!.x).toBeCloseTo(x, 10);
  });

  it('out of bounds is on the sideline; yards from the sideline count from the nearer one', () => {
    const end = (facts: Partial<Play>) =>
      draw({ kind: 'run', spot: 30, endSpot: 40, ...facts }).marks[1]!.across;
    expect(end({ endSide: 'line judge side', outOfBounds: true })).toEqual({
      from: fieldWidth,
      to: fieldWidth,
    });
    expect(end({ endSide: 'head linesman side', yardsFromSideline: 3 })).toEqual({ from: 3, to: 3 });
    expect(end({ endSide: 'line judge side' })).toEqual(laneAcross('line judge side', 'college'));
    expect(end({})).toEqual({ from: 0, to: fieldWidth });
  });

  it('a pass goes through the air to the catch, then on; a fall behind the line is a yard line behind', () => {
    const { marks, path } = draw({
      kind: 'pass',
      spot: 40,
      passResult: 'complete',
      catchDepth: -3,
      playSide: 'line judge side',
      endSpot: 44,
      endSide: 'line judge side',
    });
    expect(marks.map((mark) => [mark.kind, mark.yards])).toEqual([
      ['snapped', 40],
      ['caught', 37],
      ['dead', 44],
    ]);
    expect(path.map(({ by }) => by)).toEqual(['air', 'ground']);
  });

  it('what nobody logged is not drawn, and said so', () => {
    const play: Play = { kind: 'pass', spot: 40, passResult: 'complete', endSpot: 55 };
    const drawing = draw(play);
    expect(drawing.marks.map(({ kind }) => kind)).toEqual(['snapped', 'dead']);
    expect(drawing.path).toEqual([]);
    expect(drawing.zone).toBeUndefined();
    expect(drawing.lineToGain).toBeUndefined();
    expect(notDrawn(play, drawing)).toEqual([
      'which team had the ball',
      'the line to gain',
      'where the pass was caught',
      'the side where the ball was dead',
    ]);
  });

  it('the line to gain is so many yards on, and none at goal to go', () => {
    expect(draw({ kind: 'run', spot: 34, down: 2, distance: 7 }).lineToGain).toBe(51);
    expect(draw({ kind: 'run', spot: 95, down: 2, distance: 5 }).lineToGain).toBeUndefined();
  });

  it('a place beyond the end line is left out, the rest stays', () => {
    const drawing = draw({ kind: 'pass', spot: 95, passResult: 'complete', catchDepth: 30, endSpot: 99 });
    expect(drawing.marks.map(({ kind }) => kind)).toEqual(['snapped', 'dead']);
  });
});

const mirrored = (drawing: PlayDrawing): PlayDrawing => {
  const across = ({ from, to }: { from: number; to: number }) => ({
    from: mirrorAcross(to),
    to: mirrorAcross(from),
  });
  const point = ({ x, y }: { x: number; y: number }) => ({ x: mirrorAcross(x), y });
  const swap = {
    'head linesman side': 'line judge side',
    'line judge side': 'head linesman side',
    middle: 'middle',
  } as const;
  return {
    ...drawing,
    marks: drawing.marks.map((mark) => ({
      ...mark,
      lane: mark.lane && swap[mark.lane],
      across: across(mark.across),
    })),
    path: drawing.path.map((part) => ({ ...part, from: point(part.from), to: point(part.to) })),
    zone: drawing.zone && {
      x: across(drawing.zone.x),
      y: drawing.zone.y,
      officials: inOrder(drawing.zone.officials.map(mirrorPosition)),
    },
    officials: drawing.officials
      .map((one) => ({ ...one, ...point(one), position: mirrorPosition(one.position) }))
      .sort((one, other) => positions.indexOf(one.position) - positions.indexOf(other.position)),
  };
};
const inOrder = (some: readonly Position[]) => positions.filter((position) => some.includes(position));
/** To a millionth of a yard, and the officials of a shared zone in the trade's order. */
const rounded = (drawing: PlayDrawing) =>
  JSON.parse(
    JSON.stringify(
      { ...drawing, zone: drawing.zone && { ...drawing.zone, officials: inOrder(drawing.zone.officials) } },
      (_, value) => (typeof value === 'number' ? Math.round(value * 1e6) / 1e6 : value),
    ),
  );

describe('of any play', () => {
  it('the mirrored play gives the mirrored drawing', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, anyCode, (play, size, code) => {
        const owing = new Set<Position>(['head linesman', 'umpire']);
        const here = drawPlay(play, crewOf(size), code, owing, 'line judge side');
        const there = drawPlay(
          mirrorPlay(play),
          crewOnField(positionsOf(size), mirrorPractices(usualPractices)),
          code,
          new Set([...owing].map(mirrorPosition)),
          'head linesman side',
        );
        // On kicks at goal and free kicks crews do not line up alike on both sides, nor does a crew of four on punts; the
        // ball is mirrored all the same.
        const uneven =
          here.lineUp === 'place kick' ||
          here.lineUp === 'free kick' ||
          (here.lineUp === 'punt' && size === 4);
        const compared = (drawing: PlayDrawing) => rounded(uneven ? { ...drawing, officials: [] } : drawing);
        expect(compared(there)).toEqual(compared(mirrored(here)));
      }),
    );
  });

  it('all that is drawn lies in the part of the field that is drawn', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, anyCode, (play, size, code) => {
        const drawing = draw(play, size, code);
        expect(drawing.from).toBeGreaterThanOrEqual(0);
        expect(drawing.to).toBeLessThanOrEqual(fieldLength);
        for (const mark of drawing.marks) {
          expect(mark.y).toBeGreaterThanOrEqual(drawing.from);
          expect(mark.y).toBeLessThanOrEqual(drawing.to);
          expect(mark.across.from).toBeGreaterThanOrEqual(0);
          expect(mark.across.to).toBeLessThanOrEqual(fieldWidth + 1e-9);
        }
        // Just outside the end lines an official may stand.
        for (const { y } of drawing.officials) {
          expect(y).toBeGreaterThanOrEqual(drawing.from - 2);
          expect(y).toBeLessThanOrEqual(drawing.to + 2);
        }
      }),
    );
  });

  it('the shaded zone holds the end of the play, and every yard of it is the same officials’', () => {
    let shaded = 0;
    fc.assert(
      fc.property(anyPlay, anyCrewSize, anyCode, (play, size, code) => {
        const drawing = draw(play, size, code);
        const { zone } = drawing;
        if (zone === undefined) return;
        shaded += 1;
        const last = drawing.marks.at(-1)!;
        expect(last.y).toBeGreaterThanOrEqual(zone.y.from);
        expect(last.y).toBeLessThanOrEqual(zone.y.to);
        expect(last.across.from).toBeGreaterThanOrEqual(zone.x.from - 1e-9);
        expect(last.across.to).toBeLessThanOrEqual(zone.x.to + 1e-9);
        const goalLineDecides = zone.y.from === 110;
        if (play.kind === 'free kick' || goalLineDecides) return;
        const deadKick = last.lane && zoneOfADeadKick(play, last.lane, crewOf(size));
        if (deadKick !== undefined) {
          expect(zone.officials).toEqual(deadKick);
          return;
        }
        const ball = last.kind === 'dead' ? 'carried' : 'thrown';
        for (let y = Math.ceil(zone.y.from); y <= zone.y.to; y++)
          expect(zoneOf({ depth: y - 10 - play.spot, lane: last.lane }, ball, crewOf(size))).toEqual(
            zone.officials,
          );
      }),
      { numRuns: 500 },
    );
    expect(shaded).toBeGreaterThan(50);
  });

  it('over the goal line the end zone is shaded, as theirs who have that goal line', () => {
    // Common practice, no source: a run from the 12 in a crew of seven is the deep wing's, from the 2 the wing's.
    const zone = (spot: number) =>
      draw({ kind: 'run', spot, endSpot: 100, endSide: 'line judge side', score: 'touchdown' }).zone!;
    expect(zone(88)).toMatchObject({ y: { from: 110, to: 120 }, officials: ['field judge'] });
    expect(zone(98)).toMatchObject({ y: { from: 110, to: 120 }, officials: ['line judge'] });
  });

  it('the words name every official and place that is drawn', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, (play, size) => {
        const drawing = draw(play, size);
        const words = drawingInWords(drawing, { offense: 'Lakeview', defense: 'Harbor' });
        for (const { position } of drawing.officials) expect(words).toContain(position);
        for (const mark of drawing.marks)
          expect(words).toContain(markInWords(mark, { offense: 'Lakeview', defense: 'Harbor' }));
      }),
    );
  });
});

describe('in words', () => {
  it.each([
    [34, 'Lakeview’s 34', 'own 34'],
    [50, 'midfield', 'midfield'],
    [98, 'Harbor Hills’ 2', "opponent's 2"],
    [0, 'Lakeview’s goal line', 'own goal line'],
    [104, 'Harbor Hills’ end zone, 4 deep', "opponent's end zone, 4 deep"],
  ])('%i: %s, or %s', (yards, withTeams, without) => {
    expect(placeInWords(yards, { offense: 'Lakeview', defense: 'Harbor Hills' })).toBe(withTeams);
    expect(placeInWords(yards, undefined)).toBe(without);
  });

  // Common practice, no source.
  it('says who has the spot, who ended and who ruled, and what the log says of it', () => {
    const play: Play = {
      kind: 'run',
      spot: 40,
      endSpot: 43,
      endSide: 'line judge side',
      endedBy: 'umpire',
      score: 'none',
    };
    expect(whoseItWas(play, crewOf(7))).toEqual([
      { what: 'Has the spot', who: ['line judge'], logged: false },
      { what: 'Ended the play', who: ['umpire'], logged: true },
    ]);
    const caught: Play = {
      kind: 'pass',
      spot: 40,
      passResult: 'incomplete',
      catchDepth: 30,
      playSide: 'middle',
    };
    expect(whoseItWas(caught, crewOf(7))).toEqual([
      { what: 'Ruled on it', who: ['back judge'], logged: false },
    ]);
  });
});
