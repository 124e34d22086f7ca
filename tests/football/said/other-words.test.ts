import { describe, expect, it, test } from 'vitest';
import type { Play } from '../../../server/football/play.ts';
import { positions } from '../../../server/football/positions.ts';
import { readWords, type SaidContext } from '../../../server/football/said/index.ts';
import { otherWords } from '../../../server/football/said/other-words.ts';
import { leftOn } from '../../../server/reports/entry/left-hand.ts';

const context: SaidContext = {
  code: 'college',
  teams: { home: ['LAR', 'Larkmoor'], visitor: ['COP', 'Coppermesa'] },
  crew: positions,
};
const start: Play = { kind: 'run', spot: 27, down: 1, distance: 10, offense: 'home' };

/** The other words for the part of a line that stands at `text`. */
function others(line: string, text: string) {
  const read = (whole: string) => readWords(whole, start, context);
  const chip = read(line).chips.find((one) => one.text === text)!;
  return otherWords(chip, (word) => read(line.slice(0, chip.from) + word + line.slice(chip.to)));
}

describe('what could stand in place of a part of the line', () => {
  it('is the number before and after', () => {
    expect(others('run left 3', '3')).toEqual({ words: ['2', '3', '4'], at: 1, numeric: true });
  });
  it('is what is said of the same thing, however it was written', () => {
    expect(others('run left 3', 'left')).toMatchObject({ words: ['left', 'middle', 'right'], at: 0 });
    expect(others('run r 3', 'r')).toMatchObject({ words: ['left', 'middle', 'right'], at: 2 });
    expect(others('run l 3 hold acc', 'acc').words).toContain('declined');
    expect(others('run l 3 hold acc', 'hold').words).toContain('offside');
  });
  it('is nothing where nothing is near', () => {
    expect(others('run l 3 pile', 'pile').words).toEqual([]);
  });
});

test('left is the other sideline for the other team, and after the teams changed ends', () => {
  const of = (offense: 'home' | 'visitor', quarter: number) =>
    leftOn({ offense, quarter }, 'head linesman side');
  expect([of('home', 1), of('visitor', 1), of('home', 2), of('visitor', 2)]).toEqual([
    'head linesman side',
    'line judge side',
    'line judge side',
    'head linesman side',
  ]);
});
