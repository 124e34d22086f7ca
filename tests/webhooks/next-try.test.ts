import fc from 'fast-check';
import { expect, test } from 'vitest';
import { mostTries, secondsUntilNextTry } from '../../server/webhooks/next-try.ts';

const waits = (chance: number) =>
  Array.from({ length: mostTries }, (_, at) => secondsUntilNextTry(at + 1, mostTries, chance));
const daysOf = (all: readonly (number | null)[]) =>
  all.reduce<number>((sum, wait) => sum + (wait ?? 0), 0) / 86_400;

// "Exponential back-off", "multiple days" and "some level of random jitter" are what the Standard Webhooks
// specification, version 1.0.0, recommends; its example ends after 75 hours.
test('four times as long after each failure up to 20 hours, then given up: three days, between two and a half and three and a half by chance', () => {
  expect(waits(0.5)).toEqual([30, 120, 480, 1920, 7680, 30_720, 72_000, 72_000, 72_000, null]);
  expect(daysOf(waits(0.5))).toBeCloseTo(2.97, 2);
  expect(daysOf(waits(0))).toBeGreaterThan(2.3);
  expect(daysOf(waits(0.999_999))).toBeLessThan(3.6);
});

test('a receiver that asks to be left alone is, for a day at most', () => {
  expect(secondsUntilNextTry(1, mostTries, 0.5, 600)).toBe(600);
  expect(secondsUntilNextTry(7, mostTries, 0.5, 600)).toBe(72_000);
  expect(secondsUntilNextTry(1, mostTries, 0.5, 1e9)).toBe(86_400);
  expect(secondsUntilNextTry(mostTries, mostTries, 0.5, 600)).toBeNull();
});

test('what failed together does not come together again', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: mostTries - 1 }),
      fc.double({ min: 0, max: 0.99, noNaN: true }),
      (tries, chance) => {
        const middle = secondsUntilNextTry(tries, mostTries, 0.5)!;
        const wait = secondsUntilNextTry(tries, mostTries, chance)!;
        expect(wait).toBeGreaterThanOrEqual(Math.floor(middle * 0.8));
        expect(wait).toBeLessThanOrEqual(Math.ceil(middle * 1.2));
      },
    ),
  );
});
