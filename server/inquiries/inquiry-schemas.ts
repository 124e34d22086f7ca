import { z } from 'zod';
import { typedText } from '../text/typed-text.ts';
import { wholeNumber } from '../web/whole-number.ts';
import { categories, rulings, sentBackReasons } from './rules/categories-and-rulings.ts';
import { inquiryStates } from './rules/states.ts';
import { clockFrom } from './rules/which-play.ts';

// What is sent and answered about inquiries, for the API and the pages alike.

export const tags = ['inquiries'];
export const inquiryAddress = z.object({ inquiryId: z.uuid() });
export const done = z.object({ done: z.literal(true) });

const clock = z.string('Write the clock as minutes and seconds, such as 7:31.').transform((text, context) => {
  const seconds = clockFrom(text);
  if (seconds === null) {
    context.addIssue({ code: 'custom', message: 'Write the clock as minutes and seconds, such as 7:31.' });
    return z.NEVER;
  }
  return seconds;
});

/** What a contact writes; all but the game may be missing from a draft. */
export const writtenSchema = z.strictObject({
  gameId: z.uuid('Choose the game.'),
  playId: z.uuid('Choose one of the plays.').nullable().default(null),
  quarter: wholeNumber('quarter', 1, 12)
    .nullable()
    .default(null)
    .describe('Where no play is chosen: 1 to 4, or 5 and more for overtime.'),
  clock: clock.nullable().default(null).describe('Where no play is chosen: what it showed, such as 7:31.'),
  notInLog: z.boolean().default(false).describe('The nearest plays were looked at, and it is none of them.'),
  category: z.enum(categories, 'Choose what it is about.').nullable().default(null),
  film: typedText({ most: 1000, tooLong: 'At most 1000 characters.' })
    .default('')
    .describe('Where your own film shows it: links, or times in it.'),
  question: typedText({ most: 2000, tooLong: 'The question must have at most 2000 characters.' }).default(''),
});
export const sentSchema = writtenSchema.extend({
  send: z.boolean().default(false).describe('True sends it to the conference; else it is kept as a draft.'),
});

const reasonText = typedText({ most: 2000, tooLong: 'At most 2000 characters.' });
export const newFilmSchema = typedText({ most: 1000, tooLong: 'At most 1000 characters.' });
export const statementSchema = typedText({ most: 4000, tooLong: 'At most 4000 characters.' });
const ruling = z.enum(rulings, 'Choose what you hold.');
export const readingSchema = z.strictObject({
  ruling,
  words: typedText({ most: 4000, tooLong: 'At most 4000 characters.' }),
});
const decidedSchema = z.strictObject({
  ruling,
  rule: typedText({ most: 300, tooLong: 'At most 300 characters.' }).default('').describe('As it is cited.'),
  reason: typedText({ most: 4000, tooLong: 'At most 4000 characters.' }).default(''),
  differs: typedText({ most: 2000, tooLong: 'At most 2000 characters.' })
    .default('')
    .describe('Why it says something else than the second reader, for coordinators alone.'),
  namesMeant: z.boolean().default(false),
});

/** What a coordinator does with an inquiry. */
export const handlingSchema = z.discriminatedUnion('step', [
  z.strictObject({ step: z.literal('take up'), decisive: z.boolean().default(false) }),
  z.strictObject({
    step: z.literal('send back'),
    because: z.enum(sentBackReasons, 'Choose why it is sent back.'),
    reason: reasonText.default(''),
  }),
  z.strictObject({
    step: z.literal('ask the crew'),
    personIds: z.array(z.uuid()).max(20),
    asked: reasonText.default(''),
  }),
  z.strictObject({ step: z.literal('ask a second reader'), personId: z.uuid('Choose who reads it.') }),
  z.strictObject({ step: z.literal('review') }),
  z.strictObject({ step: z.literal('set decisive'), decisive: z.boolean() }),
  z.strictObject({ step: z.literal('release to the crew') }),
  z.strictObject({ step: z.literal('answer'), ...decidedSchema.shape }),
  z.strictObject({ step: z.literal('close') }),
]);

const instant = z.date().nullable();
const playShape = z.object({
  playId: z.uuid(),
  quarter: z.int().nullable(),
  clockSeconds: z.int().nullable(),
  down: z.int().nullable(),
  distance: z.int().nullable(),
  kind: z.string(),
});
export const plainPlaySchema = playShape;

/** An inquiry as its team reads it. */
export const teamsInquirySchema = z.object({
  id: z.uuid(),
  season: z.string(),
  gameId: z.uuid(),
  game: z.string(),
  week: z.int(),
  kickoff: z.date(),
  number: z.int().nullable().describe('Within the season; null of a draft.'),
  state: z.enum(inquiryStates),
  category: z.string(),
  quarter: z.int().nullable(),
  clockSeconds: z.int().nullable(),
  play: playShape.nullable().describe('Null where none is chosen, or the log does not have it.'),
  film: z.string(),
  question: z.string(),
  receivedAt: instant,
  dueOn: z.string().nullable().describe('The last day to answer it.'),
  sentBackBecause: z.enum(sentBackReasons).nullable(),
  sentBackReason: z.string(),
  newFilm: z.string(),
  reopenedAt: instant,
  closedAt: instant,
  answers: z.array(
    z.object({
      round: z.int().describe('2 after a reopening.'),
      ruling: z.enum(rulings),
      rule: z.string(),
      reason: z.string(),
      answeredAt: z.date(),
    }),
  ),
});

/** And as the coordinator reads it, without what was said in private. */
export const inquirySchema = teamsInquirySchema.extend({
  teamId: z.uuid(),
  team: z.string(),
  decisive: z.boolean().describe('The play may have decided the game.'),
  takenUpBy: z.uuid().nullable(),
  releasedAt: instant.describe('Since when the officials of the game may read the answer.'),
});
