import fc from 'fast-check';
import { expect, test } from 'vitest';
import { reused } from '../../server/reports/browser/reused.ts';

const anyReport = fc.object({ maxDepth: 4, withObjectString: false });

test('whatever was before, it says what is now', () => {
  fc.assert(
    fc.property(anyReport, anyReport, (before, now) => {
      expect(reused(before, now)).toStrictEqual(now);
    }),
    { numRuns: 500 },
  );
});

test('the same read again is the very same, however deep', () => {
  fc.assert(
    fc.property(anyReport, (before) => {
      expect(reused(before, structuredClone(before))).toBe(before);
    }),
    { numRuns: 500 },
  );
});

test('of a report with one play changed all else is the same as before', () => {
  const report = () => ({
    crew: [{ position: 'referee' }],
    plays: [
      { number: 1, play: { kind: 'kickoff' } },
      { number: 2, play: { kind: 'run' } },
    ],
  });
  const before = report();
  const now = report();
  now.plays[1]!.play = { kind: 'pass' };
  const shown = reused(before, now);
  expect(shown).toEqual(now);
  expect(shown).not.toBe(before);
  expect(shown.crew).toBe(before.crew);
  expect(shown.plays[0]).toBe(before.plays[0]);
  expect(shown.plays[1]).not.toBe(before.plays[1]);
});

test('what is gone, or new and undefined, is a difference', () => {
  const before = { kept: 1, gone: undefined };
  expect(reused(before, { kept: 1 })).not.toHaveProperty('gone');
  expect(reused({ kept: 1 }, before)).toHaveProperty('gone');
  expect(reused([1, 2], [1])).toEqual([1]);
  expect(reused({ 0: 'a' }, ['a'])).toEqual(['a']);
});
