import { z } from 'zod';
import { consequences } from '../../duties/consequence.ts';
import { usualDecidedShare } from '../../duties/decided-share.ts';
import { dutySchema } from '../../duties/duty.ts';
import { type Finding, findings } from '../../duties/finding.ts';
import { watchedSchema } from '../../duties/watched-schema.ts';
import { codes } from '../../football/codes.ts';
import { playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { practicesSchema, usualPractices } from '../../football/practices.ts';
import { reportStates } from '../states.ts';

// A report as its entry page needs it: what GET /api/reports/:reportId/entry gives, and what a device keeps.

const member = z.object({ position: z.enum(positions), personId: z.string() });

const entryPlaySchema = z.object({
  playId: z.string(),
  number: z.int(),
  play: playSchema,
  filmSeconds: z.number().nullable(),
  note: z.string(),
  changeId: z.string().nullable(),
});

const entryMarkSchema = z.object({
  markId: z.string(),
  playId: z.string(),
  position: z.enum(positions),
  dutyKey: z.string(),
  finding: z.enum(findings as [Finding, ...Finding[]]),
  comment: z.string(),
  consequence: z.enum(consequences).nullable().default(null),
  changeId: z.string().nullable(),
});

/** Two versions of one thing, from two devices; neither is lost until the observer chooses. */
const entryConflictSchema = z.object({
  /** The change that met the conflict. */
  changeId: z.string(),
  kind: z.string(),
  mine: z.record(z.string(), z.unknown()),
  theirs: z.record(z.string(), z.unknown()),
  receivedAt: z.iso.datetime(),
});

export const entrySnapshotSchema = z.object({
  report: z.object({
    id: z.string(),
    state: z.enum(reportStates),
    revision: z.int(),
    returnedReason: z.string().nullable(),
    generalComment: z.string(),
    /** Whom the observer watched, where; null: not said yet. */
    watched: watchedSchema.nullable().default(null),
  }),
  game: z.object({
    id: z.string(),
    title: z.string(),
    /** Full names. Empty on a device that loaded the report before they were sent. */
    home: z.string().default(''),
    visitor: z.string().default(''),
    week: z.int(),
    kickoff: z.iso.datetime(),
    timeZone: z.string(),
    filmLink: z.string().nullable(),
    /** The final score; null while nobody has entered it. */
    finalScore: z.object({ home: z.int(), visitor: z.int() }).nullable().default(null),
    /** How many usually work a game of the season. */
    crewSize: z.int().nullable().default(null),
  }),
  /** The least share of plays decided with which a duty counts. */
  decidedShareLeast: z.number().default(usualDecidedShare),
  crewConfirmed: z.boolean(),
  crew: z.array(member),
  /** The crew that was planned for the game: proposed while nobody is entered as working. */
  planned: z.array(member).default([]),
  /** Everybody who may be entered as working. */
  officials: z.array(
    z.object({
      personId: z.string(),
      name: z.string(),
      /** The position they have in a crew of this season. */
      usually: z.enum(positions).nullable().default(null),
    }),
  ),
  /** Without their guidance and source, which are for reading afterwards. */
  duties: z.array(dutySchema),
  /** How often the season's reports have a duty as missed of a position: the order in which it is offered. */
  missedBefore: z
    .array(z.object({ position: z.enum(positions), dutyKey: z.string(), times: z.int() }))
    .default([]),
  code: z.enum(codes).default('college'),
  practices: z._default(practicesSchema, usualPractices),
  plays: z.array(entryPlaySchema),
  marks: z.array(entryMarkSchema),
  conflicts: z.array(entryConflictSchema),
});

export type EntryPlay = z.infer<typeof entryPlaySchema>;
export type EntryMark = z.infer<typeof entryMarkSchema>;
export type EntryConflict = z.infer<typeof entryConflictSchema>;
export type EntrySnapshot = z.infer<typeof entrySnapshotSchema>;
