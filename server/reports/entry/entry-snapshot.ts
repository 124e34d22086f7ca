import { z } from 'zod';
import { dutySchema } from '../../duties/duty.ts';
import { type Finding, findings } from '../../duties/finding.ts';
import { playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { reportStates } from '../states.ts';

// A report as its entry page needs it: what GET /api/reports/:reportId/entry gives, and what a device keeps.

const member = z.object({ position: z.enum(positions), personId: z.string() });

export const entryPlaySchema = z.object({
  playId: z.string(),
  number: z.int(),
  play: playSchema,
  filmSeconds: z.number().nullable(),
  note: z.string(),
  changeId: z.string().nullable(),
});

export const entryMarkSchema = z.object({
  markId: z.string(),
  playId: z.string(),
  position: z.enum(positions),
  dutyKey: z.string(),
  finding: z.enum(findings as [Finding, ...Finding[]]),
  comment: z.string(),
  changeId: z.string().nullable(),
});

/** Two versions of one thing, from two devices; neither is lost until the observer chooses. */
export const entryConflictSchema = z.object({
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
  }),
  game: z.object({
    id: z.string(),
    title: z.string(),
    week: z.int(),
    kickoff: z.iso.datetime(),
    timeZone: z.string(),
    filmLink: z.string().nullable(),
  }),
  crewConfirmed: z.boolean(),
  crew: z.array(member),
  /** The crew that was planned for the game: proposed while nobody is entered as working. */
  planned: z.array(member).default([]),
  /** Everybody who may be entered as working. */
  officials: z.array(z.object({ personId: z.string(), name: z.string() })),
  duties: z.array(dutySchema),
  plays: z.array(entryPlaySchema),
  marks: z.array(entryMarkSchema),
  conflicts: z.array(entryConflictSchema),
});

export type EntryPlay = z.infer<typeof entryPlaySchema>;
export type EntryMark = z.infer<typeof entryMarkSchema>;
export type EntryConflict = z.infer<typeof entryConflictSchema>;
export type EntrySnapshot = z.infer<typeof entrySnapshotSchema>;
