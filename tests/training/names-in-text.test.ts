import { expect, test } from 'vitest';
import { namesIn } from '../../server/training/names-in-text.ts';

const named = {
  people: [
    { givenName: 'Ann', familyName: 'Block' },
    { givenName: 'Zoë', familyName: 'Ångström' },
    { givenName: 'Bo', familyName: 'Li' },
  ],
  crews: ['Slate'],
  teams: ['Alder Fork'],
};
const words = (text: string) => namesIn(text, named).map((found) => found.words);

test('names of officials, crews and teams, and shirt numbers, are found as whole words', () => {
  expect(words('Block looks away.')).toEqual(['Block']);
  expect(words('ÅNGSTRÖM? No: Ångström, left of #7 and jersey 54.')).toEqual(['Ångström', '#7', 'jersey 54']);
  expect(words('The Slate crew at ALDER FORK: player number 9')).toEqual([
    'Slate',
    'ALDER FORK',
    'player number 9',
  ]);
});

test('what only looks like one is not', () => {
  for (const text of [
    'A block below the waist; blockers and Blocked kicks.',
    'Ångströms and slate, 3rd and 7 at own 34.',
    'Li is too short to look for.',
    'Key no. 1 is the number 54 of yards.',
  ])
    expect([text, words(text)]).toEqual([text, []]);
});
