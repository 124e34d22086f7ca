import { expect, test } from 'vitest';
import { pointed, trimmed } from '../../server/programs/browser/clip/edits.ts';
import type { Shot } from '../../server/timeline/cut.ts';

const shot: Shot = {
  filmId: '5d0bf2cc-0f4c-4d3e-9a3f-0f9b8d7c1a11',
  timebase: { numerator: 1, denominator: 30 },
  ...{ from: 100, to: 200, slow: 1, freezes: [], pointers: [], muted: true },
};

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
