import { expect, test } from 'vitest';
import { pointed, trimmed, withPointer } from '../../server/programs/browser/clip/edits.ts';
import type { Pointer, Shot } from '../../server/timeline/cut.ts';
import { cutSchema } from '../../server/timeline/cut-schema.ts';

const shot: Shot = {
  filmId: '5d0bf2cc-0f4c-4d3e-9a3f-0f9b8d7c1a11',
  timebase: { numerator: 1, denominator: 30 },
  ...{ from: 100, to: 200, slow: 1, freezes: [], pointers: [], muted: true },
};

test('a cover is never drawn together to nothing, and one that hides nothing is refused', () => {
  const covered = pointed(shot, 'cover', 150);
  const [{ tailX, tailY, y }] = covered.pointers as [Pointer];
  const onto = withPointer(covered, 0, { x: tailX!, y: tailY! - 0.05 }).pointers[0]!;
  expect([onto.x === tailX, onto.y]).toEqual([false, tailY! - 0.05]);
  expect(withPointer(covered, 0, { tailY: y }).pointers[0]!.tailY).toBe(tailY);
  expect(withPointer(covered, 0, { tailX: 0.31 }).pointers[0]!.tailX).toBe(0.31);

  const cutWith = (tail: object) =>
    cutSchema.safeParse({ shots: [{ ...covered, pointers: [{ ...covered.pointers[0], ...tail }] }] });
  expect(cutWith({}).error).toBeUndefined();
  expect(cutWith({ tailY: y }).error!.issues).toMatchObject([
    { path: ['shots', 0, 'pointers', 0, 'tailX'], message: expect.stringContaining('hides nothing') },
  ]);
});

test('a cover of a whole shot stays so when the shot becomes longer or shorter; a pointer keeps its frames', () => {
  const both = pointed(pointed(shot, 'cover', 150), 'circle', 150);
  const framesOf = (one: Shot) => one.pointers.map(({ shape, from, to }) => [shape, from, to]);
  expect(framesOf(both)).toEqual([
    ['cover', 100, 200],
    ['circle', 150, 200],
  ]);
  expect(framesOf(trimmed(both, { from: 40, to: 300 }))).toEqual([
    ['cover', 40, 300],
    ['circle', 150, 200],
  ]);
  expect(framesOf(trimmed(both, { to: 160 }))).toEqual([
    ['cover', 100, 160],
    ['circle', 150, 160],
  ]);
  expect(framesOf(trimmed(both, { to: 150 }))).toEqual([['cover', 100, 150]]);
});
