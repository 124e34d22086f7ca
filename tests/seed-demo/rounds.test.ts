import { describe, expect, it } from 'vitest';
import { makeConference } from '../../seed-demo/conference.ts';
import { Draws } from '../../seed-demo/draws.ts';
import { homeOrAway, seasonRounds, singleRoundRobin } from '../../seed-demo/rounds.ts';
import { makeSchedule } from '../../seed-demo/schedule.ts';

const teamsOf = (count: number) => Array.from({ length: count }, (_, at) => `team ${at + 1}`);
const changes = (weeks: readonly boolean[]) => weeks.filter((home, at) => at > 0 && home === weeks[at - 1]);

describe('a single round robin', () => {
  // De Werra (1981, "Scheduling in sports"): with n teams no home-away pattern has fewer than n - 2 breaks (two home
  // or two road games running), and the canonical one has exactly as many, none of them twice in a row.
  it.each([4, 6, 8, 10, 12])('for %i teams has the fewest breaks that are possible', (count) => {
    const rounds = singleRoundRobin(teamsOf(count));
    expect(rounds).toHaveLength(count - 1);
    expect(new Set(rounds.flat().map((pair) => [...pair].sort().join())).size).toBe(
      (count * (count - 1)) / 2,
    );
    for (const round of rounds) expect(new Set(round.flat()).size).toBe(count);
    const patterns = [...homeOrAway(rounds).values()];
    expect(patterns.flatMap(changes)).toHaveLength(count - 2);
    for (const weeks of patterns) expect(changes(weeks).length).toBeLessThanOrEqual(1);
  });
});

describe('the season of the demo', () => {
  const games = makeSchedule(makeConference(new Draws(1, 'conference')), new Draws(1, 'schedule'));
  const rounds = Array.from({ length: 11 }, (_, at) =>
    games.filter(({ week }) => week === at + 1).map(({ home, visitor }) => [home, visitor] as const),
  );

  it('gives each team five or six home games of eleven, and never three at home or away running', () => {
    for (const weeks of homeOrAway(rounds).values()) {
      expect([5, 6]).toContain(weeks.filter(Boolean).length);
      expect(weeks.map((home) => (home ? 'H' : 'A')).join('')).not.toMatch(/HHH|AAA/);
    }
  });

  it('lets every pair meet once, ten of them again at the other place and not the week after', () => {
    const met = new Map<string, { week: number; home: string }[]>();
    for (const { week, home, visitor } of games) {
      const pair = [home, visitor].sort().join(' ');
      met.set(pair, [...(met.get(pair) ?? []), { week, home }]);
    }
    expect(met.size).toBe(45);
    const twice = [...met.values()].filter((meetings) => meetings.length === 2);
    expect(twice).toHaveLength(10);
    for (const [first, again] of twice) {
      expect(again!.home).not.toBe(first!.home);
      expect(again!.week - first!.week).toBeGreaterThan(4);
    }
  });

  it('says so when no such season fits', () => {
    expect(() => seasonRounds(teamsOf(4), 12)).toThrow('No even season of 12 weeks for 4 teams.');
  });
});
