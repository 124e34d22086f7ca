import { expect, test } from 'vitest';
import { defaultCut } from '../../server/timeline/default-cut.ts';
import { placeShot, type ShotFrames, samplesIn } from '../../server/timeline/shot-frames.ts';

// Worked by hand from the definition of the rate, 30000/1001 frames a second; the films themselves are tried in
// tests/reels.

const ntsc = {
  ticks: Array.from({ length: 300 }, (_, at) => at * 1001),
  timebase: { numerator: 1, denominator: 30_000 },
};
const filmId = '5d0bf2cc-0f4c-4d3e-9a3f-0f9b8d7c1a11';
const shot = { filmId, timebase: ntsc.timebase, slow: 1, freezes: [], pointers: [], muted: true };
const placed = (of: Partial<typeof shot> & { from: number; to: number }, source = ntsc) =>
  placeShot({ ...shot, ...of }, source) as ShotFrames;

test('a shot has the frames from its in point up to its out point', () => {
  expect(placed({ from: 30 * 1001, to: 75 * 1001 })).toMatchObject({
    firstFrame: 30,
    seek: (30 * 1001) / 30_000,
    taken: 45,
    frames: 45,
  });
});

test('what is slow is repeated, what is frozen is held after its own frame, and a pointer keeps to its frames', () => {
  const at = (frame: number) => frame * 1001;
  const { frames, freezes, pointers } = placed({
    from: 0,
    to: at(20),
    slow: 3,
    freezes: [{ at: at(10), seconds: 1 }] as never,
    pointers: [{ shape: 'circle', from: at(10), to: at(12), x: 0.5, y: 0.5, size: 0.1 }] as never,
  });
  expect(freezes).toEqual([{ after: 10, frames: 30 }]);
  expect(frames).toBe(20 * 3 + 30);
  // Frame 10 is first shown as frame 30 of the clip, and 12 as frame 66.
  expect(pointers).toEqual([{ from: 30, last: 65 }]);
});

test('another film’s clock counts by seconds', () => {
  const late = { ...ntsc, ticks: ntsc.ticks.map((tick) => tick + 15_000) };
  const { firstFrame, seek, frames } = placed(
    { from: 135_000, to: 270_000, timebase: { numerator: 1, denominator: 90_000 } },
    late,
  );
  // 1.5 s of a film whose first frame is at 0.5 s: the 30th frame is at 1.501 s.
  expect(firstFrame).toBe(30);
  expect(seek).toBeCloseTo(1.501, 6);
  expect(frames).toBe(45);
});

test('a shot that reaches beyond its film is told, and one that ends with it is not', () => {
  expect(placed({ from: 290 * 1001, to: 300 * 1001 }).frames).toBe(10);
  expect(placeShot({ ...shot, from: 290 * 1001, to: 320 * 1001 }, ntsc)).toEqual({
    beyond: 'It is cut up to 10.677 s of a film that ends at 10.010 s.',
  });
});

test('the sound of 30 frames is 48,048 samples', () => {
  expect([1, 5, 30].map(samplesIn)).toEqual([1602, 8008, 48_048]);
});

test('a play that nobody cut is one stretch around its snap, within its film', () => {
  const around = { secondsBefore: 6, secondsAfter: 10 };
  const of = (seconds: number, snap: number) => defaultCut({ id: filmId, seconds }, snap, around)?.shots[0];
  expect(of(100, 50)).toMatchObject({ filmId, from: 44 * 90_000, to: 60 * 90_000, muted: true, slow: 1 });
  expect(of(100, 2)).toMatchObject({ from: 0, to: 12 * 90_000 });
  expect(of(100, 95)).toMatchObject({ to: 100 * 90_000 });
  expect(of(100, 100)).toBeUndefined();
});
