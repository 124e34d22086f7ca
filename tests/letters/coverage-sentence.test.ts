import { expect, test } from 'vitest';
import { coverageSentence } from '../../server/letters/coverage-sentence.ts';

const of = { personId: 'a', position: 'umpire' } as const;
const shares = { ...of, watched: '92 %', decided: '97 %', partlyWatched: true, leftOut: [] };

test('a letter says in a sentence what was watched, and names what was left out', () => {
  expect(coverageSentence([shares], of)).toBe(
    'Your observers watched 92 % of your opportunities; what they did not watch counts neither for nor against you.',
  );
  expect(coverageSentence([{ ...shares, partlyWatched: false }], of)).toBe(
    'Your observers watched every one of your opportunities.',
  );
  const titles = ['One', 'Two', 'Three', 'Four', 'Five', 'Six'];
  const leftOut = titles.map((title) => ({ title, games: 1 }));
  expect(coverageSentence([{ ...shares, leftOut }], of)).toContain(
    'Too little was logged to count “One”, “Two”, “Three”, “Four” and 2 more everywhere',
  );
  expect(coverageSentence([shares], { ...of, position: 'referee' })).toBeNull();
});
