import { z } from 'zod';
import type { Duty } from '../duties/duty.ts';
import { dutySchema } from '../duties/duty.ts';
import { dutySentence } from '../duties/duty-sentence.ts';
import { codes } from '../football/codes.ts';
import { playSchema } from '../football/play.ts';
import { crewSizes, positions } from '../football/positions.ts';
import { practicesSchema } from '../football/practices.ts';
import type { situationOf } from '../football/situations/index.ts';
import { dutyFingerprint } from '../rubric/fingerprints.ts';

// What the API answers about duties; the pages show the same.

const dutyAnswerSchema = dutySchema
  .extend({
    sentence: z.string().describe('The duty as one plain sentence.'),
    fingerprint: z
      .string()
      .describe('Send it back as `seen` with a change: it tells whether the duty is still this one.'),
  })
  .meta({ id: 'Duty' });

export function dutyAnswer(duty: Duty) {
  return { ...duty, sentence: dutySentence(duty), fingerprint: dutyFingerprint(duty) };
}

export const versionAnswerSchema = z
  .object({
    number: z.int(),
    note: z.string(),
    createdAt: z.iso.datetime(),
    filedReports: z
      .int()
      .describe('Reports filed with this version. From the first on it can no longer change.'),
    consequenceWeights: z
      .object({ none: z.number(), yards: z.number(), possession: z.number(), score: z.number() })
      .describe('How many times its duty weight a wrong or missed call costs, by what it cost.'),
  })
  .meta({ id: 'RubricVersion' });

export const rubricAnswerSchema = versionAnswerSchema
  .extend({
    code: z.enum(codes).describe('The rules book its duties speak of.'),
    practices: practicesSchema.check(z.describe('How the conference works what crews work differently.')),
    seen: z.string().describe('Send it back as `seen` with a change of code or practices.'),
    duties: z.array(dutyAnswerSchema),
  })
  .meta({ id: 'Rubric' });

export const situationAnswerSchema = z
  .object({ key: z.string(), clause: z.string(), facts: z.array(z.string()) })
  .meta({ id: 'Situation' });

export function situationAnswer({ key, clause, reads }: ReturnType<typeof situationOf>) {
  return { key, clause, facts: [...reads] };
}

export const differenceAnswerSchema = z
  .object({
    key: z.string(),
    title: z.string(),
    kind: z.enum(['added', 'removed', 'changed']),
    parts: z.array(z.object({ part: z.string(), before: z.string(), after: z.string() })),
  })
  .meta({ id: 'DutyDifference' });

const chances = {
  before: z.int().describe('Opportunities that the duty as it stands gives.'),
  after: z.int().describe('Opportunities that the duty as proposed would give.'),
};

const placeSchema = z.object({
  raw: z.number().nullable(),
  adjusted: z.number().nullable(),
  standardError: z.number().nullable(),
  place: z.int().nullable().describe('Null when not ranked.'),
});

export const previewAnswerSchema = z
  .object({
    sentence: z.string(),
    example: z
      .optional(playSchema)
      .describe('A play, made up, on which the duty applies; none for a duty of the whole game.'),
    games: z.int(),
    plays: z.int(),
    total: z.object(chances),
    byPosition: z.array(
      z.object({
        position: z.enum(positions),
        ...chances,
        officials: z.array(z.object({ personId: z.string(), name: z.string(), ...chances })),
      }),
    ),
    undecidedPlays: z
      .int()
      .describe('Plays on which a fact was not logged that decides whether the duty applied.'),
    missingFacts: z.array(z.object({ fact: z.string(), name: z.string(), plays: z.int() })),
    standings: z
      .array(
        z.object({
          personId: z.string(),
          name: z.string(),
          position: z.enum(positions),
          now: placeSchema,
          would: placeSchema,
        }),
      )
      .describe(
        'Where the weight changes: the standings, were all released reports graded with it. Filed reports keep the weights they were filed with.',
      ),
  })
  .meta({ id: 'DutyPreview' });

const factInWords = z.object({ fact: z.string(), name: z.string(), value: z.string() });

export const owedAnswerSchema = z
  .object({
    play: playSchema,
    crewSize: z.literal(crewSizes),
    owed: z.array(
      z.object({
        position: z.enum(positions),
        coversFor: z.enum(positions).optional(),
        dutyKey: z.string(),
        title: z.string(),
        expected: z.string(),
        why: z.array(
          z.object({
            part: z.enum(['all', 'any', 'unless', 'who']),
            clause: z.string(),
            truth: z.union([z.boolean(), z.literal('unknown')]),
            facts: z.array(factInWords),
          }),
        ),
      }),
    ),
    undecided: z.array(
      z.object({
        dutyKey: z.string(),
        title: z.string(),
        positions: z.array(z.enum(positions)),
        missing: z.array(factInWords),
      }),
    ),
  })
  .meta({ id: 'WhoOwedWhat' });
