import { z } from 'zod';
import { typedDay, typedText } from '../text/typed-text.ts';
import { wholeNumber } from '../web/whole-number.ts';

/** What counts as watched, and when who has not is reminded. */
export const ruleSchema = z.object({
  shareNeeded: wholeNumber('shareNeeded', 1, 100).describe('percent of the length, or of the plays'),
  allQuestions: z.boolean().describe('whether every question is to be answered'),
  remindDays: wholeNumber('remindDays', 0, 30).describe(
    'days before the due date; 0: nobody is reminded by itself',
  ),
});
export type WatchingRule = z.output<typeof ruleSchema>;

export const sessionSchema = z.object({
  heldOn: typedDay(),
  place: typedText({ least: 1, most: 200, tooShort: 'say where it is held' }),
  makeUpBy: typedDay().nullable().default(null).describe('until when who missed it watches'),
});
