import { expect, test } from 'vitest';
import { topicsFirst } from '../../server/programs/propose.ts';

const play = (dutyKey: string, showing: 'good' | 'bad', topicRank: number | null, points = 5) => ({
  dutyKey,
  showing,
  topicRank,
  points,
});
const plays = [
  play('costliest', 'bad', 1),
  play('costliest', 'good', 1),
  ...['second', 'third'].flatMap((key, at) => [
    play(key, 'good', at + 2),
    play(key, 'good', at + 2),
    play(key, 'bad', at + 2),
  ]),
  play('praised', 'good', null, 9),
  play('praised', 'good', null, 9),
];

test('topics are the costliest that two good plays open and close, those with a bad one first', () => {
  expect([...topicsFirst(plays, new Set(), 2)]).toEqual(['second', 'third']);
  expect([...topicsFirst(plays, new Set(), 9)]).toEqual(['second', 'third', 'praised']);
});

test('what is taught already stays, before anything is added', () => {
  expect([...topicsFirst(plays, new Set(['costliest']), 2)]).toEqual(['costliest', 'second']);
  expect([...topicsFirst(plays, new Set(['costliest', 'praised']), 1)].sort()).toEqual([
    'costliest',
    'praised',
  ]);
});
