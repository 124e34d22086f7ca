// @module-tag rest
import { expect, test } from 'vitest';
import { followTaught } from '../../../server/patterns/follow-up/staff.ts';
import { teachingWorlds, teachWorld } from '../../bench/simulate-staff.ts';
import { simulateTeaching } from '../../bench/simulated-teaching.ts';

const seeds = (count: number) => Array.from({ length: count }, (_, i) => i + 1);
const plain = teachingWorlds['nothing changes']!;

// Where nothing was learned at most 5 % of programs should be told of fewer misses at any duty and look, and as many of more.
// Of 12 programs two or fewer are told so with a probability of 98 % even if it is 5 % (binomial).
test('where nothing was learned hardly any program is told so, rain, growth and milder observers or not', () => {
  const all = teachWorld(teachingWorlds['all of it']!, seeds(12));
  expect(all.fewerOfAny).toBeLessThanOrEqual(2 / 12);
  expect(all.moreOfAny).toBeLessThanOrEqual(2 / 12);
  // What a plain test of before and after says of the same: nearly always that it helped.
  expect(all.naive).toBeGreaterThan(0.8);
});

test('where half of the misses are left, that is told of nearly every duty', () => {
  const { fewer, moreOfAny } = teachWorld({ ...plain, left: 0.5 }, seeds(4));
  expect(fewer).toBeGreaterThan(0.8);
  expect(moreOfAny).toBe(0);
});

test('games between release and the day to watch it by are on neither side, and duties not taught are not followed', () => {
  const { rows } = simulateTeaching(1, plain);
  const found = followTaught({
    rows,
    duties: new Set(['d1', 'nobody owes it']),
    until: '2026-09-04',
    from: '2026-09-08',
    lastWeek: 12,
  });
  const sum = (from: number, to: number) =>
    rows
      .filter(({ duty, week }) => duty === 'd1' && week >= from && week <= to)
      .reduce((all, { misses }) => all + misses, 0);
  expect([...found.keys()]).toEqual(['d1', 'nobody owes it']);
  expect(found.get('d1')!.before.events).toBe(sum(1, 4));
  expect(found.get('d1')!.after.events).toBe(sum(9, 12));
  expect(found.get('nobody owes it')).toMatchObject({ verdict: 'cannot be told' });
});

test('one position alone is followed where only it was taught', () => {
  const { rows } = simulateTeaching(1, plain);
  const of = (row: { position: string }) => row.position === 'p2';
  const found = followTaught({
    rows,
    duties: new Set(['d1']),
    until: '2026-09-06',
    from: '2026-09-06',
    lastWeek: 12,
    of,
  }).get('d1')!;
  const own = rows.filter((row) => of(row) && row.duty === 'd1');
  expect(found.before.opportunities + found.after.opportunities).toBe(
    own.reduce((sum, { opportunities }) => sum + opportunities, 0),
  );
});

test('too few games on a side say nothing yet', () => {
  const { rows, taught } = simulateTeaching(2, { ...plain, left: 0 });
  const few = rows.filter(({ week, game }) => week <= 6 || (week === 7 && /c[01]$/.test(game)));
  for (const { verdict } of followTaught({
    rows: few,
    duties: taught,
    until: '2026-09-06',
    from: '2026-09-06',
    lastWeek: 12,
  }).values())
    expect(verdict).toBe('too early to tell');
});
