import { z } from 'zod';
import type { Database } from '../database/database.ts';
import { positions } from '../football/positions.ts';
import { showings } from '../training/lesson.ts';
import { reasonKinds } from '../training/reasons.ts';
import { measureProgram } from './meters.ts';
import { audiences, cardSchema } from './program.ts';
import { readProgram } from './stores/program-rows.ts';

// What the routes of training programs have in common.

export const tags = ['training programs'];
export const programAddress = z.object({ programId: z.uuid() });
export const playAddress = programAddress.extend({ playId: z.uuid() });
export const seasonAddress = z.object({ seasonId: z.uuid() });
export const dayOrNone = z.string().nullable();

const frameAnswer = {
  title: z.string(),
  goal: z.string(),
  audience: z.enum(audiences),
  audiencePosition: z.enum(positions).nullable(),
  audienceCrewId: z.uuid().nullable(),
  minutes: z.int(),
  dueOn: dayOrNone,
  code: z.string(),
  mostBad: z.int(),
};
const spread = z.object({
  counts: z.array(z.object({ of: z.string(), plays: z.int(), bad: z.int() })),
  uneven: z.number().describe('share of the plays that would have to come from others for an even spread'),
});
const balance = z.object({
  good: z.int(),
  bad: z.int().describe('with those to discuss'),
  enoughGood: z.boolean(),
  crews: spread,
  positions: spread,
  weeks: spread,
  teams: spread,
  tooOftenBad: z.array(z.object({ officialId: z.string(), bad: z.int() })),
  onlyBad: z.array(z.string()).describe('officials in a bad play and in no good one'),
  crewsOverThird: z.array(z.object({ crewId: z.string(), bad: z.int(), most: z.int() })),
  secondsUsed: z.int(),
  secondsPlanned: z.int(),
});
export const programAnswer = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  ...frameAnswer,
  version: z.int(),
  frameVersion: z.int(),
  orderVersion: z.int(),
  lastChange: z.string(),
  changedBy: z.uuid().nullable(),
  changedAt: z.string(),
  canUndo: z.boolean(),
  plays: z.array(
    z.object({
      playId: z.uuid(),
      version: z.int(),
      ...cardSchema.shape,
      answeredOn: dayOrNone,
      secondsBefore: z.int(),
      secondsAfter: z.int(),
    }),
  ),
  balance,
  openReplies: z
    .array(z.uuid())
    .describe('plays with a reply that waits for its ruling: with them it cannot be released'),
  gone: z.array(z.uuid()).describe('plays that their log no longer has'),
});
export const candidateAnswer = z.object({
  playId: z.uuid(),
  gameId: z.uuid(),
  week: z.int(),
  number: z.int(),
  crewId: z.uuid().nullable(),
  officialId: z.uuid(),
  position: z.enum(positions),
  dutyKey: z.string(),
  showing: z.enum(showings),
  observers: z.int(),
  reasons: z.array(z.object({ kind: z.enum(reasonKinds), points: z.int() })),
  points: z.int(),
  openReply: z.boolean(),
});

/** A program as it is now, with how fair it is. */
export async function programNow(
  database: Pick<Database, 'pool'>,
  conferenceId: string,
  programId: string,
): Promise<z.input<typeof programAnswer>> {
  const program = await readProgram(database.pool, conferenceId, programId);
  const { balance, openReplies, gone } = await measureProgram(database, conferenceId, program);
  return { ...program, balance, openReplies, gone } as z.input<typeof programAnswer>;
}
