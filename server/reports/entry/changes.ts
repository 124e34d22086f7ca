import { z } from 'zod';
import { consequences } from '../../duties/consequence.ts';
import { type Finding, findings } from '../../duties/finding.ts';
import { watchedSchema } from '../../duties/watched-schema.ts';
import { playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { exactText } from '../../text/typed-text.ts';

// What an observer's device sends. Each change carries an id made on the device, so that sending it twice applies it
// once, and `basedOn`: the change that last touched the row as the device saw it (null: a row it believes new). When
// another device has touched the row since, the change is a conflict, and nothing is overwritten.

const id = z.uuid('must be a UUID');
const basedOn = id.nullable();

const crewSchema = z
  .array(z.strictObject({ position: z.enum(positions), personId: id }))
  .min(1, 'name at least one official')
  .max(positions.length)
  .refine(
    (crew) => new Set(crew.map((member) => member.position)).size === crew.length,
    'a position is named twice',
  )
  .refine(
    (crew) => new Set(crew.map((member) => member.personId)).size === crew.length,
    'a person is named twice',
  );

const putPlaySchema = z.strictObject({
  kind: z.literal('put play'),
  id,
  basedOn,
  playId: id,
  /** For a new play: the play it comes after, or null for the first. */
  after: id.nullable(),
  play: playSchema,
  /** Where the play starts in the film, seconds. */
  filmSeconds: z.number().min(0).max(86_400).nullable(),
  note: exactText({ most: 2000 }),
});

const removePlaySchema = z.strictObject({
  kind: z.literal('remove play'),
  id,
  basedOn,
  playId: id,
  /** True when the observer has seen that marks go with it. */
  marksToo: z.boolean(),
});

const putMarkSchema = z.strictObject({
  kind: z.literal('put mark'),
  id,
  basedOn,
  markId: id,
  playId: id,
  position: z.enum(positions),
  dutyKey: exactText({ least: 1, most: 100 }),
  finding: z.enum(findings as [Finding, ...Finding[]]),
  comment: exactText({ most: 4000 }),
  /** What a wrong or missed call cost; null: not judged; left out (by a page from before it was asked): as it was. */
  consequence: z
    .enum(consequences)
    .nullable()
    .optional()
    .describe('What a wrong or missed call cost. null: not judged; left out: as the mark had it.'),
});

const removeMarkSchema = z.strictObject({
  kind: z.literal('remove mark'),
  id,
  basedOn,
  markId: id,
});

const confirmCrewSchema = z.strictObject({
  kind: z.literal('confirm crew'),
  id,
  /** The crew as the device saw it before. */
  was: z.array(z.strictObject({ position: z.enum(positions), personId: id })),
  crew: crewSchema,
  /** False takes a confirmation back (undo): the crew is entered, but not confirmed. */
  confirmed: z.boolean().optional(),
});

const generalCommentSchema = z.strictObject({
  kind: z.literal('general comment'),
  id,
  was: exactText({ most: 8000 }),
  comment: exactText({ most: 8000 }),
});

const putWatchedSchema = z.strictObject({
  kind: z.literal('watched'),
  id,
  /** As the device saw it before; null: not said yet. */
  was: watchedSchema.nullable(),
  watched: watchedSchema,
});

/** The observer's choice between the two versions of a conflict. */
const resolveSchema = z.strictObject({
  kind: z.literal('resolve'),
  id,
  /** The change that met the conflict. */
  conflictId: id,
  keep: z.enum(['mine', 'theirs']),
  /** The change behind the other version that the observer was shown. */
  basedOn,
});

export const changeSchema = z.discriminatedUnion('kind', [
  putPlaySchema,
  removePlaySchema,
  putMarkSchema,
  removeMarkSchema,
  confirmCrewSchema,
  generalCommentSchema,
  putWatchedSchema,
  resolveSchema,
]);

/** A change as it arrived: fit to be looked at, or not even that. */
export const arrivedSchema = z.union([
  changeSchema.transform((change) => ({ change })),
  z.unknown().transform((unfit) => ({ unfit })),
]);

export type PutPlay = z.infer<typeof putPlaySchema>;
export type RemovePlay = z.infer<typeof removePlaySchema>;
export type PutMark = z.infer<typeof putMarkSchema>;
export type RemoveMark = z.infer<typeof removeMarkSchema>;
export type ConfirmCrew = z.infer<typeof confirmCrewSchema>;
export type GeneralComment = z.infer<typeof generalCommentSchema>;
export type PutWatched = z.infer<typeof putWatchedSchema>;
export type Resolve = z.infer<typeof resolveSchema>;
export type Change = z.infer<typeof changeSchema>;
/** A change that can meet another device's. */
export type EntryChange = Exclude<Change, Resolve>;

const outcomes = ['applied', 'same', 'conflict', 'refused'] as const;

/**
 * What became of a change. `same`: another device had already entered just this. `conflict`: kept aside until the
 * observer chooses. `refused`: it can never apply as it stands; `message` says why, and the device keeps it.
 */
export const changeResultSchema = z.object({
  id: z.string(),
  outcome: z.enum(outcomes),
  message: z.string().optional(),
  errors: z
    .array(z.object({ field: z.string(), message: z.string() }))
    .optional()
    .describe('The fields of the change that are wrong.'),
});
export type ChangeResult = z.infer<typeof changeResultSchema>;
