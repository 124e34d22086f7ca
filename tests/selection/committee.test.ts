import { expect, test } from 'vitest';
import { mayOpen, tallyOf } from '../../server/selection/ballots.ts';
import { type Compared, passedOver } from '../../server/selection/passed-over.ts';

const candidate = (
  officialId: string,
  place: number | null,
  tier: number | null,
  eligible: Compared['eligible'] = 'met',
): Compared => ({
  officialId,
  rank: place === null ? null : { place },
  tier,
  eligible,
});
const umpires = [
  candidate('Ash', 1, 1),
  candidate('Birch', 2, 1, 'not met'),
  candidate('Cedar', 3, 1, 'not known'),
  candidate('Elm', 4, 2),
  candidate('Fir', null, null),
];
const choice = (officialId: string) => ({ officialId, slot: 'umpire', position: 'umpire' }) as const;

test('passed over is who is ranked higher, who fails no rule, and is chosen for no place of the selection', () => {
  expect(passedOver(choice('Ash'), umpires, new Set(['Ash']))).toEqual([]);
  expect(passedOver(choice('Cedar'), umpires, new Set(['Cedar']))).toEqual([
    { officialId: 'Ash', place: 1, sameTier: true },
  ]);
  expect(passedOver(choice('Cedar'), umpires, new Set(['Cedar', 'Ash']))).toEqual([]);
  expect(passedOver(choice('Elm'), umpires, new Set(['Elm']))).toEqual([
    { officialId: 'Ash', place: 1, sameTier: false },
    { officialId: 'Cedar', place: 3, sameTier: false },
  ]);
  // Below all who are ranked: one who is not, and one who is no candidate in the position at all.
  for (const outsider of ['Fir', 'Gum'])
    expect(passedOver(choice(outsider), umpires, new Set([outsider])).map(({ place }) => place)).toEqual([
      1, 3, 4,
    ]);
});

test('a tally counts each vote once, notes by whom, and who is in conflict', () => {
  const ballot = (
    memberId: string,
    officialId: string,
    vote: 'for' | 'against' | 'abstain' | null,
    note = '',
  ) => ({
    ...{ memberId, officialId, vote, note, gameId: 'final' },
    position: 'umpire' as const,
  });
  expect(
    tallyOf(
      [
        ballot('one', 'Ash', 'for', 'steady all season'),
        ballot('two', 'Ash', 'against'),
        ballot('three', 'Ash', null, 'see week 4'),
        ballot('one', 'Cedar', 'abstain'),
      ],
      [
        { memberId: 'four', officialId: 'Ash' },
        { memberId: 'four', officialId: 'Elm' },
      ],
    ),
  ).toEqual([
    {
      ...{ officialId: 'Ash', for: 1, against: 1, abstain: 0, conflicts: 1 },
      notes: [
        { memberId: 'one', note: 'steady all season' },
        { memberId: 'three', note: 'see week 4' },
      ],
    },
    { officialId: 'Cedar', for: 0, against: 0, abstain: 1, conflicts: 0, notes: [] },
  ]);
});

test('ballots open when all are sealed, or with a reason when some are, and never when none is', () => {
  const members = (...sealed: boolean[]) => sealed.map((one) => ({ sealed: one }));
  expect(mayOpen(members(true, true), '')).toBeNull();
  expect(mayOpen(members(true, false), '')).toMatchObject({ field: 'reason' });
  expect(mayOpen(members(true, false), 'the other is ill')).toBeNull();
  expect(mayOpen(members(false, false), 'in a hurry')).toMatchObject({ field: null });
  expect(mayOpen([], '')).toMatchObject({ field: null });
});
