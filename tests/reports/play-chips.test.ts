// @module-tag long
import { expect, test } from 'vitest';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import { impliedFacts } from '../../server/football/implied-facts.ts';
import { nothingUnusual } from '../../server/football/nothing-unusual.ts';
import { type Fact, type Play, playKinds, playSchema } from '../../server/football/play.ts';
import { placesOf } from '../../server/reports/entry/places.ts';
import {
  type Chip,
  type ChipRow,
  chipRows,
  isSaid,
  litIn,
  touched,
} from '../../server/reports/entry/play-chips.ts';

const start: Play = {
  kind: 'run',
  spot: 27,
  quarter: 1,
  clockSeconds: 700,
  down: 1,
  distance: 10,
  offense: 'home',
};
const chipNamed = (play: Play, key: string, all = false): { chip: Chip; row: ChipRow } => {
  for (const row of chipRows(play, all)) {
    const chip = row.chips.find((other) => other.key === key);
    if (chip) return { chip, row };
  }
  throw new Error(`there is no chip ${key} on ${JSON.stringify(play)}`);
};
const after = (play: Play, ...keys: string[]): Play =>
  keys.reduce((now, key) => {
    const { chip, row } = chipNamed(now, key, key === 'kickoff' || key.startsWith('try'));
    return touched(chip, row, now, 'college');
  }, play);

const without = (play: Play, fact: Fact): Play => {
  const { [fact]: _, ...rest } = play;
  return rest as Play;
};

/** Every play that up to three touches make from a bare one. */
function* playsByTouch(play: Play, touches: number): Generator<Play> {
  yield play;
  if (touches === 0) return;
  for (const row of chipRows(play, true)) {
    for (const chip of row.chips) yield* playsByTouch(touched(chip, row, play, 'college'), touches - 1);
  }
}

test('whatever is touched, the play is one, and the chip touched is lit', { tags: ['long'] }, () => {
  let plays = 0;
  for (const play of playsByTouch(start, 2)) {
    plays++;
    expect(playSchema.safeParse(play).success).toBe(true);
    for (const row of chipRows(play, true)) {
      for (const chip of row.chips) {
        const now = touched(chip, row, play, 'college');
        if (litIn(row, play, 'college').has(chip)) continue;
        const there = chipRows(now, true).find(({ key }) => key === row.key)!;
        const same = there.chips.find(({ key }) => key === chip.key)!;
        expect(isSaid(same, now, 'college'), `${chip.key} on ${JSON.stringify(play)}`).toBe(true);
        expect(
          litIn(there, now, 'college').has(same),
          `${chip.key} on ${JSON.stringify(play)} gives ${JSON.stringify(now)}`,
        ).toBe(true);
      }
    }
  }
  expect(plays).toBeGreaterThan(200);
});

test('a chip takes for known nothing but what it says, and rare things only where it says "nothing else"', () => {
  for (const play of playsByTouch(start, 1)) {
    for (const row of chipRows(play, true)) {
      for (const chip of row.chips) {
        const now = touched(chip, row, play, 'college');
        const usual = nothingUnusual(now.kind);
        for (const fact of Object.keys(now) as Fact[]) {
          if (JSON.stringify(now[fact]) === JSON.stringify(play[fact])) continue;
          const said =
            fact in chip.says ||
            (chip.nothingElse === true &&
              (fact in usual || fact in impliedFacts(without(now, fact), 'college')));
          expect(said, `${chip.key} sets ${fact}`).toBe(true);
        }
        expect(chip.nothingElse === true).toBe(
          `${chip.label} ${chip.detail ?? ''}`.toLowerCase().includes('nothing else'),
        );
      }
    }
  }
});

test('touched again, a chip is taken back', () => {
  const run = after(start, 'run', 'went head linesman side');
  expect(run).toEqual({ ...start, carrier: 'other', playSide: 'head linesman side' });
  expect(after(run, 'went head linesman side', 'run')).toEqual(start);
  const ended = { ...run, endSpot: 30 };
  expect(after(ended, 'in bounds')).toEqual({
    ...nothingUnusual('run'),
    ...ended,
    outOfBounds: false,
    clockAfter: 'running',
    clockStoppedFor: 'none',
  });
  expect(after(ended, 'in bounds', 'in bounds')).toEqual(ended);
  expect(after(ended, 'in bounds', 'out of bounds')).toEqual(after(ended, 'out of bounds'));
  expect(after(run, 'in bounds', 'in bounds')).toEqual(run);
});

test('what was said before "nothing else" stays said', () => {
  const play = after(start, 'caught', 'helmet', 'pile', 'out of bounds');
  expect(play).toMatchObject({
    helmetOff: true,
    pile: true,
    outOfBounds: true,
    injury: false,
    looseBall: 'none',
  });
});

test('another kind of play leaves behind what it does not have', () => {
  const pass = after(start, 'caught', 'catch');
  expect(after(pass, 'run')).toEqual({ ...start, kind: 'run', carrier: 'other' });
  expect(after(pass, 'intercepted').turnover).toBe('interception');
  expect(after(pass, 'intercepted', 'caught').turnover).toBeUndefined();
});

test('plays entered by touch contradict nothing', () => {
  const runTo = { ...after(start, 'run', 'went middle'), endSpot: 31, endSide: 'middle' } as const;
  const incomplete = after(start, 'incomplete');
  const fell = { ...incomplete, ...placesOf(incomplete)[0]!.says(40, 'line judge side') };
  const kickoff = after({ kind: 'free kick', spot: 35, offense: 'home' }, 'kickoff');
  const down = { ...kickoff, ...placesOf(kickoff)[0]!.says(96, 'middle') };
  const returned = after(down, 'returned', 'returned line judge side');
  const back = { ...returned, ...placesOf(returned).at(-1)!.says(73, 'line judge side') };
  const punt = after(start, 'punt');
  const caught = after({ ...punt, ...placesOf(punt)[0]!.says(82, 'middle') }, 'fair catch', 'nothing else');
  const plays = [
    after(runTo, 'in bounds'),
    after(runTo, 'touchdown'),
    after(fell, 'nothing else'),
    after(after(start, 'intercepted'), 'in bounds'),
    after(back, 'in bounds'),
    caught,
    after(start, 'spike', 'nothing else'),
  ];
  expect(caught).toMatchObject({ endSpot: 82, endSide: 'middle', kickTo: 82 });
  for (const play of plays) expect(contradictionsIn([{ number: 1, play }], [], 'college')).toEqual([]);
});

test('each place of the ball is kept where it was shown', () => {
  for (const kind of playKinds) {
    for (const play of playsByTouch({ ...start, kind }, 1)) {
      for (const place of placesOf(play)) {
        const now = { ...play, ...place.says(60, 'middle') };
        const shown = placesOf(now).find(({ key }) => key === place.key)!;
        expect([shown.yards, shown.lane]).toEqual([60, 'middle']);
        const [from, to] = place.around;
        expect(from >= -10 && to <= 110 && from < to).toBe(true);
      }
    }
  }
});
