import { z } from 'zod';
import { type Audience, audienceFault, audienceFields } from '../../knowledge/audience.ts';
import type { Counts } from '../../knowledge/counting.ts';
import { countsWords } from '../../knowledge/counting.ts';
import { typedText } from '../../text/typed-text.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { mostQuestions } from './question.ts';

const instant = z.iso
  // Aborts, so that opening and closing are held against each other only where both are moments.
  .datetime({ offset: true, error: 'must be a date and a time of day', abort: true })
  .transform((text) => new Date(text))
  .refine(
    (at) => at.getUTCFullYear() >= 1900 && at.getUTCFullYear() < 2200,
    'must be a date of these centuries',
  );

export const quizFields = {
  title: typedText({ least: 1, most: 200, tooShort: 'give the quiz a title' }),
  opensAt: instant,
  closesAt: instant,
  minutes: wholeNumber('minutes', 1, 300).describe('from its start on'),
  starts: wholeNumber('starts', 1, 5).default(1).describe('how often it may be begun: 1 is no retake'),
  hoursBetween: wholeNumber('hoursBetween', 0, 720)
    .default(0)
    .describe('hours from the end of one sitting to the start of the next'),
  counts: z.enum(Object.keys(countsWords) as [Counts, ...Counts[]]).default('best'),
  draws: wholeNumber('draws', 1, mostQuestions)
    .nullable()
    .default(null)
    .describe('how many questions are drawn for each sitting; null: all, in their order'),
  ...audienceFields,
};

export const quizSchema = z.object(quizFields).superRefine((quiz, context) => {
  const wrong = (field: string, message: string) =>
    context.addIssue({ code: 'custom', path: [field], message });
  if (quiz.closesAt <= quiz.opensAt) wrong('closesAt', 'must be later than it opens');
  else if (quiz.closesAt.getTime() - quiz.opensAt.getTime() < quiz.minutes * 60_000)
    wrong('minutes', 'must fit between opening and closing');
  const fault = audienceFault(quiz);
  if (fault) wrong(fault.field, fault.message);
});
export type QuizFrame = z.output<typeof quizSchema>;

export interface Quiz extends Omit<QuizFrame, keyof Audience>, Audience {
  readonly id: string;
  readonly seasonId: string;
  readonly announcedAt: Date | null;
  readonly closedSeason: boolean;
  readonly begun: boolean;
  /** Questions that it asks or draws from. */
  readonly pool: number;
}

/** Where a quiz is with time. */
export const quizState = ({ announcedAt, opensAt, closesAt }: Quiz, now: Date) =>
  announcedAt === null ? 'draft' : now < opensAt ? 'announced' : now < closesAt ? 'open' : 'over';
