import { describe, expect, test } from 'vitest';
import { arrowFrom } from '../../server/setup/browser/crew-board/arrows.ts';
import {
  type Board,
  emptySeats,
  inNoCrew,
  noCrew,
  putDown,
  withLeaving,
} from '../../server/setup/browser/crew-board/board.ts';
import { overPlace, wasPut } from '../../server/setup/browser/crew-board/seats-in-words.ts';
import { crewsWrong } from '../../server/setup/crews-wrong.ts';
import { began, did, undone } from '../../server/web/browser/history.ts';

const board = (seats: Record<string, string>, leaving: string[] = []): Board => ({
  seats: new Map(Object.entries(seats)),
  leaving: new Set(leaving),
});
const seatsOf = ({ seats }: Board) => Object.fromEntries(seats);
const people = ['ada', 'ben', 'cleo', 'dan', 'eve'].map((id) => ({ id }));
const start = board({ r1: 'ada', u1: 'ben', r2: 'cleo', u2: '' });

describe('who is put down', () => {
  test.each([
    ['on another seat exchanges the two', 'ada', 'r1', 'r2', { r1: 'cleo', u1: 'ben', r2: 'ada', u2: '' }],
    ['on an empty seat leaves theirs empty', 'ada', 'r1', 'u2', { r1: '', u1: 'ben', r2: 'cleo', u2: 'ada' }],
    [
      'from the list sends who sits there to it',
      'dan',
      noCrew,
      'u1',
      { r1: 'ada', u1: 'dan', r2: 'cleo', u2: '' },
    ],
    ['on the list leaves their seat empty', 'ben', 'u1', noCrew, { r1: 'ada', u1: '', r2: 'cleo', u2: '' }],
  ])('%s', (_what, personId, from, to, seats) => {
    expect(seatsOf(putDown(start, { personId, from }, to))).toEqual(seats);
  });

  test('where they were, or at no place of the board, changes nothing', () => {
    for (const [from, to] of [
      ['r1', 'r1'],
      [noCrew, noCrew],
      ['r1', 'nowhere'],
    ] as const)
      expect(putDown(start, { personId: 'ada', from }, to)).toBe(start);
  });

  test('is never lost nor doubled, however often people are moved', () => {
    let now = start;
    const places = [...start.seats.keys(), noCrew];
    // Every pair of places, over and over, from wherever the last move led.
    for (let round = 0; round < 500; round += 1) {
      const from = places[(round * 7) % places.length]!;
      const to = places[(round * 3 + 1) % places.length]!;
      const waiting = inNoCrew(now, people);
      const personId = from === noCrew ? waiting[round % waiting.length]?.id : now.seats.get(from);
      if (personId) now = putDown(now, { personId, from }, to);
      const everybody = [...now.seats.values(), ...inNoCrew(now, people).map(({ id }) => id)];
      expect(everybody.filter((id) => id !== '').sort()).toEqual(['ada', 'ben', 'cleo', 'dan', 'eve']);
    }
    expect(now).not.toBe(start);
  });
});

test('who leaves gives up their seat, and comes back to the list; undone, to the seat', () => {
  let history = began(start);
  history = did(history, withLeaving(history.now, 'ada', true));
  expect(seatsOf(history.now)).toEqual({ r1: '', u1: 'ben', r2: 'cleo', u2: '' });
  expect(inNoCrew(history.now, people).map(({ id }) => id)).toEqual(['dan', 'eve']);
  const stays = withLeaving(history.now, 'ada', false);
  expect(seatsOf(stays).r1).toBe('');
  expect(inNoCrew(stays, people).map(({ id }) => id)).toEqual(['ada', 'dan', 'eve']);
  expect(undone(history).now).toBe(start);
});

test('empty seats are those of crews that are used', () => {
  const crews = [
    { name: 'First', fields: ['r1', 'u1'] },
    { name: '', fields: ['r2', 'u2'] },
    { name: '', fields: ['r3', 'u3'] },
    { name: 'Fourth', fields: ['r4'] },
  ];
  // One beside Cleo, whose crew has no name yet, and one of the fourth; none of the third, which is not used.
  expect(emptySeats(start, crews)).toBe(2);
});

test('arrows go from position to position and from crew to crew, and stay at an edge', () => {
  const columns = [['r1', 'u1', 'b1'], ['r2', 'u2', 'b2'], ['list ada']];
  const way = (from: string, ...keys: string[]) =>
    keys.reduce((at, key) => arrowFrom(columns, at, key)!, from);
  expect(way('r1', 'ArrowDown', 'ArrowRight')).toBe('u2');
  expect(way('b1', 'ArrowDown')).toBe('b1');
  expect(way('r1', 'ArrowUp')).toBe('r1');
  expect(way('r1', 'ArrowLeft')).toBe('r1');
  expect(way('b2', 'ArrowRight')).toBe('list ada');
  expect(arrowFrom(columns, 'r1', 'x')).toBeUndefined();
  // An empty list is passed over, and a place that is gone begins anew.
  expect(arrowFrom([['r1'], []], 'r1', 'ArrowRight')).toBe('r1');
  expect(arrowFrom(columns, 'list gone', 'ArrowDown')).toBe('r1');
});

test('what putting down does is said before and after', () => {
  const [here, there] = [
    { name: 'First', position: 'umpire' },
    { name: 'Second', position: 'referee' },
  ];
  expect(overPlace('Ada', here, 'Ben', there)).toBe(
    'Umpire in First: exchange with Ben, who would be referee in Second.',
  );
  expect(overPlace('Ada', here, 'Ben', undefined)).toBe('Umpire in First: Ben, who would be in no crew.');
  expect(wasPut('Ada', here, '', there)).toBe('Ada is umpire in First now.');
  expect(wasPut('Ada', here, 'Ben', undefined)).toBe('Ada is umpire in First now. Ben is in no crew.');
  expect(wasPut('Ada', undefined, '', there)).toBe('Ada is in no crew now.');
});

test('who sits twice, leaves, or sits in a crew without a name is told beside the field', () => {
  const officials = new Map([
    ['ada', 'Ada'],
    ['ben', 'Ben'],
  ]);
  const crews = [
    {
      ...{ place: 0, name: 'First' },
      members: [
        { position: 'referee', personId: 'ada' },
        { position: 'head linesman', personId: 'ada' },
      ],
    },
    {
      ...{ place: 2, name: '' },
      members: [
        { position: 'referee', personId: 'ben' },
        { position: 'umpire', personId: 'somebody else' },
      ],
    },
  ] as const;
  expect(
    crewsWrong(
      crews.map((crew) => ({ ...crew, members: [...crew.members] })),
      officials,
      new Set(['ben']),
    ),
  ).toEqual({
    'crew-0-head-linesman': 'Ada is in crew First, as referee already.',
    'crew-2': 'Give the crew a name, or leave its positions empty.',
    'crew-2-referee': 'Ben is marked as leaving. Choose somebody else, or let them stay.',
    'crew-2-umpire': 'Choose an official of the conference.',
  });
});
