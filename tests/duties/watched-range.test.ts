import { describe, expect, test } from 'vitest';
import { everybodyWatched, type Watched, watchedOn } from '../../server/duties/watched.ts';
import { type PlayRange, withWatched } from '../../server/duties/watched-range.ts';
import { type Position, positions } from '../../server/football/positions.ts';

const ids = Array.from({ length: 9 }, (_, at) => `play ${at + 1}`);
const without = (position: Position) => (seen: readonly Position[]) => seen.filter((one) => one !== position);
const including = (position: Position) => (seen: readonly Position[]) => [...seen, position];

/** Whom each play has, and what a play logged after them would have. */
const table = (watched: Watched) =>
  [...ids, 'later'].map((id) =>
    positions.filter((position) => watchedOn(watched, [...ids, 'later'])(id, position)),
  );

test('from a play on, also what is logged later', () => {
  const range = { from: 'play 4', to: null };
  const now = withWatched(everybodyWatched, ids, range, without('umpire'));
  expect(now.stretches).toEqual([{ ...range, positions: positions.filter((one) => one !== 'umpire') }]);
  expect(table(now).map((seen) => seen.includes('umpire'))).toEqual([
    true,
    true,
    true,
    false,
    false,
    false,
    false,
    false,
    false,
    false,
  ]);
  expect(withWatched(now, ids, range, including('umpire'))).toEqual({
    positions: [...positions],
    stretches: [],
  });
});

test('between two plays, up to the last one, which ends there', () => {
  const now = withWatched(everybodyWatched, ids, { from: 'play 7', to: 'play 9' }, without('referee'));
  expect(
    table(now)
      .map((seen) => seen.includes('referee'))
      .slice(5),
  ).toEqual([true, false, false, false, true]);
});

test('for the whole report, its ranges too', () => {
  const some = withWatched(everybodyWatched, ids, { from: 'play 2', to: 'play 3' }, () => []);
  const now = withWatched(some, ids, 'whole report', including('umpire'));
  expect(table(now).every((seen) => seen.includes('umpire'))).toBe(true);
  expect(table(now)[1]).toEqual(['umpire']);
});

test('of a report without plays', () => {
  expect(withWatched(everybodyWatched, [], 'whole report', () => ['umpire'])).toEqual({
    positions: ['umpire'],
    stretches: [],
  });
  expect(withWatched(everybodyWatched, [], { from: null, to: null }, () => [])).toEqual({
    positions: [],
    stretches: [],
  });
});

describe('any sequence of changes', () => {
  let seed = 20_261_129;
  const below = (n: number) => {
    seed = (Math.imul(seed, 1_103_515_245) + 12_345) & 0x7fffffff;
    return (seed >> 8) % n;
  };
  test('changes the plays of its range, one position each, and no other', () => {
    let watched: Watched = everybodyWatched;
    for (let step = 0; step < 600; step++) {
      const position = positions[below(positions.length)]!;
      const change = below(2) === 0 ? without(position) : including(position);
      const ends = [below(ids.length), below(ids.length)].sort((a, b) => a - b);
      const range: PlayRange | 'whole report' =
        below(8) === 0
          ? 'whole report'
          : {
              from: below(4) === 0 ? null : ids[ends[0]!]!,
              to: below(3) === 0 ? null : ids[ends[1]!]!,
            };
      const [first, last] =
        range === 'whole report'
          ? [0, ids.length]
          : [
              range.from === null ? 0 : ids.indexOf(range.from),
              range.to === null ? ids.length : ids.indexOf(range.to),
            ];
      const before = table(watched);
      watched = withWatched(watched, ids, range, change);
      const expected = before.map((seen, at) =>
        at >= first && at <= last ? positions.filter((one) => change(seen).includes(one)) : seen,
      );
      expect(table(watched)).toEqual(expected);
      expect(watched.stretches.length).toBeLessThanOrEqual(ids.length + 1);
    }
  });
});
