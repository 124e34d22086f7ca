import { expect, it } from 'vitest';
import type { CountRow } from '../../server/patterns/counts.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';

/**
 * Four officials, a game a week each, ten chances in each of three duties; `misses` of a week from 1 to 10, the same
 * for all but for a miss more or less.
 */
function season(misses: (week: number) => number, observer: (week: number, crew: number) => string) {
  const rows: CountRow[] = [];
  for (let week = 1; week <= 10; week++) {
    for (const [crew, official] of ['a', 'b', 'c', 'd'].entries()) {
      for (const [k, duty] of ['count', 'signal', 'spot'].entries()) {
        rows.push({
          official,
          position: 'line judge',
          crew: official,
          game: `${official}${week}`,
          week,
          observer: observer(week, crew),
          duty,
          situationCut: null,
          opportunities: 10,
          misses: misses(week) + ((week + crew + k) % 2),
          model: 0,
        });
      }
    }
  }
  return rows;
}

const directions = (rows: readonly CountRow[]) => {
  const { conference, officialTrends } = findPatterns(rows);
  return new Set([...conference, ...officialTrends].map(({ trend }) => trend.direction));
};

it('takes a strict observer who comes late for no trend', () => {
  const strictLate = (week: number) => (week <= 5 ? 1 : 5);
  const changing = season(strictLate, (week, crew) => `${week <= 5 ? 'mild' : 'strict'} ${crew % 2}`);
  expect(directions(changing)).toEqual(new Set(['no clear trend']));
  // The same misses before the same observers are a trend, of every duty and official.
  expect(directions(season(strictLate, (_, crew) => `o${crew % 2}`))).toEqual(new Set(['rising']));
});

it('names a fall as a fall', () => {
  const falling = season(
    (week) => Math.round(8 - 0.7 * week),
    (_, crew) => `o${crew % 2}`,
  );
  expect(directions(falling)).toEqual(new Set(['falling']));
});
