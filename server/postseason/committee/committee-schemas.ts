import { z } from 'zod';
import { positions } from '../../football/positions.ts';
import { votes } from '../../selection/ballots.ts';
import { typedText } from '../../text/typed-text.ts';
import { selectionStates } from '../selection.ts';

const person = z.uuid('choose a person');
const official = z.uuid('choose an official');

/** @returns whether each official is named once */
const eachOnce = (of: readonly { readonly officialId: string }[]): boolean =>
  new Set(of.map(({ officialId }) => officialId)).size === of.length;
const once = 'must name each official once';

export const memberSchema = z.object({ personId: person });

export const votingSchema = z.object({
  withCommittee: z.boolean('say whether there is a committee').default(true),
  reason: typedText({ most: 2000 }).default('').describe('Why there is no committee; needed only then.'),
});

export const openingSchema = z.object({
  reason: typedText({ most: 2000 })
    .default('')
    .describe('Why they are opened before all are sealed; needed only then.'),
});

export const reasonsSchema = z.object({
  seen: z.string('send `seen` as it was read').max(64, 'send `seen` as it was read'),
  reason: typedText({ least: 1, most: 2000, tooShort: 'say why this official was chosen' }),
  over: z
    .array(
      z.object({
        officialId: official,
        reason: typedText({ least: 1, most: 2000, tooShort: 'say why they were passed over' }),
      }),
    )
    .default([])
    .describe('Why those ranked higher were not chosen; who is left out stays as they are.'),
});

export const conflictsSchema = z.object({
  conflicts: z
    .array(
      z.object({
        officialId: official,
        reason: typedText({ least: 1, most: 2000, tooShort: 'say what the conflict is' }),
      }),
    )
    .refine(eachOnce, once)
    .describe('All of them, in place of those declared before; an empty list says that there is none.'),
});

export const ballotSchema = z.object({
  votes: z
    .array(
      z.object({
        officialId: official,
        vote: z.enum(votes, 'must be for, against or abstain').nullable().default(null),
        note: typedText({ most: 4000 }).default(''),
      }),
    )
    .refine(eachOnce, once),
});

const conflictAnswer = z.object({ memberId: z.uuid(), officialId: z.uuid(), reason: z.string() });

export const committeeAnswer = z.object({
  state: z.enum(selectionStates),
  openedBecause: z
    .string()
    .describe('Why before all had sealed, or why there is no committee; empty where neither was so.'),
  members: z.array(
    z.object({
      personId: z.uuid(),
      name: z.string(),
      kind: z.enum(['coordinator', 'invited reader']),
      conflictsDeclaredAt: z.string().nullable(),
      sealedAt: z.string().nullable(),
    }),
  ),
  conflicts: z.array(conflictAnswer).nullable().describe('Null until the ballots are opened.'),
});

const tallyAnswer = z
  .object({
    for: z.int(),
    against: z.int(),
    abstain: z.int(),
    conflicts: z.int(),
    notes: z.array(z.object({ memberId: z.uuid(), note: z.string() })),
  })
  .nullable()
  .describe(
    'Null before the ballots are opened, where nobody voted, and for who declared a conflict with them.',
  );

export const decisionsAnswer = z.object({
  state: z.enum(selectionStates),
  keptCandidates: z
    .boolean()
    .describe('Held against the candidates kept when preparing ended; false: as they stand now.'),
  missing: z.array(z.string()).describe('What has no reason yet, in words.'),
  places: z.array(
    z.object({
      gameId: z.uuid(),
      slot: z.string(),
      seen: z.string().describe('Of what stands here; sent back with reasons.'),
      chosen: z
        .object({ officialId: z.uuid(), position: z.enum(positions), reason: z.string(), votes: tallyAnswer })
        .nullable(),
      passedOver: z.array(
        z.object({
          officialId: z.uuid(),
          place: z.int().describe('Their rank.'),
          sameTier: z.boolean(),
          reason: z.string().nullable().describe('Null while none is recorded.'),
          recordedBy: z.uuid().nullable(),
          votes: tallyAnswer,
        }),
      ),
    }),
  ),
});

export const seatsAnswer = z.array(
  z.object({
    selectionId: z.uuid(),
    title: z.string(),
    season: z.string(),
    state: z.enum(selectionStates),
    declared: z.boolean(),
    sealed: z.boolean(),
  }),
);

export const seatAnswer = z.object({
  selectionId: z.uuid(),
  title: z.string(),
  state: z.enum(selectionStates),
  conflictsDeclaredAt: z.string().nullable(),
  sealedAt: z.string().nullable(),
  conflicts: z.array(z.object({ officialId: z.uuid(), reason: z.string() })),
  ballots: z.array(
    z.object({
      gameId: z.uuid(),
      position: z.enum(positions),
      officialId: z.uuid(),
      vote: z.enum(votes).nullable(),
      note: z.string(),
    }),
  ),
  candidates: z
    .array(
      z.object({
        gameId: z.uuid(),
        position: z.enum(positions),
        officialId: z.uuid(),
        name: z.string(),
        tier: z.int().nullable(),
        eligible: z.enum(['met', 'not met', 'not known']).nullable(),
      }),
    )
    .describe(
      'As kept when voting began; none before, and nobody with whom one declared a conflict. Until conflicts are declared by name alone, in the order of names.',
    ),
});
