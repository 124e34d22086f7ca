import { z } from 'zod';
import { codes } from '../football/codes.ts';
import { positions } from '../football/positions.ts';
import { typedDay, typedText } from '../text/typed-text.ts';
import { aspects } from '../training/aspects.ts';
import { showings } from '../training/lesson.ts';
import { wholeNumber } from '../web/whole-number.ts';

export const audiences = ['everybody', 'position', 'crew', 'observers'] as const;

/** For whom a program is, what it is to reach, and how long it may take. */
export const frameSchema = z
  .object({
    title: typedText({ least: 1, most: 200, tooShort: 'give the program a title' }),
    goal: typedText({
      least: 1,
      most: 500,
      tooShort: 'say in one sentence what everybody is to do afterwards',
    }),
    audience: z.enum(audiences).default('everybody'),
    audiencePosition: z.enum(positions).nullable().default(null),
    audienceCrewId: z.uuid().nullable().default(null),
    minutes: wholeNumber('minutes', 1, 120).default(20),
    dueOn: typedDay().nullable().default(null),
    code: z.enum(codes).default('college'),
    mostBad: wholeNumber('mostBad', 1, 10).default(2).describe('in how many bad plays one official may be'),
  })
  .superRefine(({ audience, audiencePosition, audienceCrewId }, context) => {
    const wrong = (path: string, message: string) =>
      context.addIssue({ code: 'custom', path: [path], message });
    if (audience === 'position' && !audiencePosition) wrong('audiencePosition', 'choose the position');
    if (audience === 'crew' && !audienceCrewId) wrong('audienceCrewId', 'choose the crew');
  })
  // What belongs to another audience is not kept.
  .transform((frame) => ({
    ...frame,
    audiencePosition: frame.audience === 'position' ? frame.audiencePosition : null,
    audienceCrewId: frame.audience === 'crew' ? frame.audienceCrewId : null,
  }));
export type Frame = z.output<typeof frameSchema>;

const choiceSchema = z.object({
  text: typedText({ least: 1, most: 200, tooShort: 'write the choice, or leave it out' }),
  right: z.boolean().describe('several may be right, where two mechanics are acceptable'),
});

const cardShape = z.object({
  topic: typedText({ most: 100 }).describe('plays of one topic stand together'),
  aspect: z.enum(aspects),
  showing: z.enum(showings),
  position: z.enum(positions).describe('whose duty it shows'),
  dutyKey: typedText({ most: 100 }).nullable(),
  answer: typedText({ most: 2000 }).describe('the coordinator’s answer of record'),
  answeredOn: typedDay()
    .nullable()
    .default(null)
    .describe('left out: the day on which the answer was last changed'),
  ruleCited: typedText({ most: 200 }),
  mechanicCited: typedText({ most: 300 }),
  twoMechanics: z.boolean().describe('two ways of doing it are acceptable'),
  firstKey: typedText({ most: 200 }),
  secondKey: typedText({ most: 200 }),
  question: typedText({ most: 500 }).describe('asked before the answer is shown'),
  choices: z.array(choiceSchema).max(5, 'five choices at most'),
  narration: typedText({ most: 4000 }),
  secondsBefore: wholeNumber('secondsBefore', 0, 120).describe('shown before the snap'),
  secondsAfter: wholeNumber('secondsAfter', 1, 300).describe('shown after the snap'),
});

/** What a play is to teach, as the coordinator wrote it. */
export const cardSchema = cardShape.superRefine(({ question, choices, answer, answeredOn }, context) => {
  const wrong = (path: string, message: string) =>
    context.addIssue({ code: 'custom', path: [path], message });
  if (question !== '' && choices.length < 2) wrong('choices', 'a question needs two choices or more');
  if (question === '' && choices.length > 0)
    wrong('question', 'write the question that these choices answer');
  if (choices.length > 0 && !choices.some(({ right }) => right))
    wrong('choices', 'say which choice is right');
  if (answer === '' && answeredOn) wrong('answer', 'write the answer that this day belongs to');
});
export type Card = z.output<typeof cardSchema>;

/** A play of a program: which one, and its card. `version` is raised by each change of the card. */
export interface ProgramPlay extends Card {
  readonly playId: string;
  readonly version: number;
}

export interface Program extends Frame {
  readonly id: string;
  readonly seasonId: string;
  /** Raised by every change; the others by one of the frame, and of which plays there are in what order. */
  readonly version: number;
  readonly frameVersion: number;
  readonly orderVersion: number;
  /** The last change in words, with who made it when; `canUndo` while it can be taken back. */
  readonly lastChange: string;
  readonly changedBy: string | null;
  readonly changedAt: string;
  readonly canUndo: boolean;
  readonly plays: readonly ProgramPlay[];
}
