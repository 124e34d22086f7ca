import { expect, test } from 'vitest';
import { positionsOf } from '../../../server/football/crews.ts';
import { crewPlaces, type LayOut } from '../../../server/football/drawing/crew-places.ts';
import type { Play } from '../../../server/football/play.ts';
import { crewSizes } from '../../../server/football/positions.ts';
import { usualPractices } from '../../../server/football/practices.ts';
import { crewOnField } from '../../../server/football/zones/crew-on-field.ts';

const layOut: LayOut = { width: 20, height: 17, official: { width: 3.1, height: 3.1 } };
const near = 1e-6;

const plays: Play[] = [];
for (const spot of [1, 3, 5, 20, 35, 50, 65, 80, 95, 97, 99]) {
  for (const snapSide of ['head linesman side', 'middle', 'line judge side'] as const) {
    for (const kind of ['run', 'punt', 'place kick', 'free kick', 'no snap'] as const)
      plays.push({ kind, spot, snapSide, down: 4, distance: 7 });
  }
}
for (const tryBy of ['kick', 'run', undefined] as const)
  plays.push(tryBy ? { kind: 'try', spot: 97, tryBy } : { kind: 'try', spot: 97 });

test.each(crewSizes)('no official of a crew of %i stands on another or beyond the picture', (size) => {
  const crew = crewOnField(positionsOf(size), usualPractices);
  for (const play of plays) {
    const { officials } = crewPlaces(play, crew, 'college', layOut);
    expect([...officials.keys()]).toEqual(positionsOf(size).filter((position) => officials.has(position)));
    expect(officials.size).toBe(size);
    const places = [...officials].map(([position, { x, y }]) => ({
      position,
      x: x * layOut.width,
      y: y * layOut.height,
    }));
    for (const [at, one] of places.entries()) {
      expect(one.x).toBeGreaterThanOrEqual(layOut.official.width / 2 - near);
      expect(one.x).toBeLessThanOrEqual(layOut.width - layOut.official.width / 2 + near);
      expect(one.y).toBeGreaterThanOrEqual(layOut.official.height / 2 - near);
      expect(one.y).toBeLessThanOrEqual(layOut.height - layOut.official.height / 2 + near);
      for (const other of places.slice(at + 1)) {
        const apart =
          Math.abs(one.x - other.x) >= layOut.official.width - 0.01 ||
          Math.abs(one.y - other.y) >= layOut.official.height - 0.01;
        expect(apart, `${one.position} and ${other.position}: ${JSON.stringify(play)}`).toBe(true);
      }
    }
  }
});

test('each stands on the side they work, the deep ones beyond the line, the referee behind it', () => {
  const crew = crewOnField(positionsOf(8), usualPractices);
  const run: Play = { kind: 'run', spot: 35, snapSide: 'middle', down: 2, distance: 6 };
  const { officials, lineOfScrimmage, lineToGain, ball, supposed } = crewPlaces(run, crew, 'college', layOut);
  const at = (position: Parameters<typeof officials.get>[0]) => officials.get(position)!;
  for (const left of ['head linesman', 'side judge'] as const) expect(at(left).x).toBeLessThan(0.2);
  for (const right of ['line judge', 'field judge'] as const) expect(at(right).x).toBeGreaterThan(0.8);
  // Up the picture is where the offense goes.
  for (const deep of ['side judge', 'field judge', 'back judge', 'umpire'] as const)
    expect(at(deep).y).toBeLessThan(lineOfScrimmage);
  for (const behind of ['referee', 'center judge'] as const)
    expect(at(behind).y).toBeGreaterThan(lineOfScrimmage);
  expect(at('back judge').y).toBeLessThan(at('umpire').y);
  expect(lineToGain).toBeLessThan(lineOfScrimmage);
  expect(ball.y).toBe(lineOfScrimmage);
  expect(supposed).toBe(false);
});

test('a try nobody logged how is drawn as a kick, and says so', () => {
  const crew = crewOnField(positionsOf(7), usualPractices);
  const open = crewPlaces({ kind: 'try', spot: 97 }, crew, 'college', layOut);
  const kick = crewPlaces({ kind: 'try', spot: 97, tryBy: 'kick' }, crew, 'college', layOut);
  expect(open.supposed).toBe(true);
  expect(open.officials).toEqual(kick.officials);
});
