import { positions } from '../positions.ts';
import { usualFouls } from '../usual-fouls.ts';
import type { Chip, Said } from './read-words.ts';

/** Words that are said in each other's place. */
const inEachOthersPlace: readonly (readonly string[])[] = [
  ['left', 'middle', 'right'],
  [
    'run',
    'keeper',
    'pass',
    'quick pass',
    'sack',
    'scramble',
    'punt',
    'field goal',
    'spike',
    'kneel',
    'no snap',
  ],
  ['complete', 'incomplete', 'intercepted'],
  ['returned', 'fair catch', 'touchback', 'downed', 'blocked'],
  ['in bounds', 'out of bounds', 'touchdown'],
  ['good', 'no good'],
  ['fumble', 'muff'],
  ['accepted', 'declined', 'offsetting', 'picked up'],
  ['offense', 'defense'],
  ['live ball', 'dead ball'],
  ['clock runs', 'clock stops'],
  positions,
  usualFouls.map(({ foul }) => foul),
];

/**
 * What could stand in a line in place of a part that was understood, in a fixed order, and which of them it is now: the
 * number before and after, or the words that are said of the same thing. Empty where nothing is near. `read` reads the
 * line with another word there.
 */
export function otherWords(
  chip: Chip,
  read: (word: string) => Said,
): { words: readonly string[]; at: number; numeric: boolean } {
  const { text, from, says } = chip;
  const number = /[-−]?\d+/.exec(text);
  if (number !== null && !text.includes(':')) {
    const value = Number(number[0].replace('−', '-'));
    const written = (other: number) =>
      text.slice(0, number.index) + String(other) + text.slice(number.index + number[0].length);
    return { words: [value - 1, value, value + 1].map(written), at: 1, numeric: true };
  }
  const isSaidBy = (word: string) =>
    read(word).chips.some((other) => other.from === from && other.says === says);
  for (const words of inEachOthersPlace) {
    const at = words.findIndex((word) => word[0] === text[0]?.toLowerCase() && isSaidBy(word));
    if (at >= 0) return { words, at, numeric: false };
  }
  return { words: [], at: -1, numeric: false };
}
