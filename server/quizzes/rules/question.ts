import { z } from 'zod';
import { codes } from '../../football/codes.ts';
import { positions } from '../../football/positions.ts';
import { typedText } from '../../text/typed-text.ts';

/** The most choices of a question, and the most questions that a quiz asks or draws from. */
export const mostChoices = 6;
export const mostQuestions = 60;
export const mostInPool = 400;

const choice = typedText({ least: 1, most: 300, tooShort: 'write each choice, or take it out' });

export const questionSchema = z
  .object({
    label: typedText({
      least: 1,
      most: 60,
      tooShort: 'give it a label by which files know it, such as 8-3-2-a',
    }),
    text: typedText({ least: 1, most: 2000, tooShort: 'write the question' }),
    choices: z
      .array(choice)
      .min(2, 'give two choices or more; of a true or false question they are True and False')
      .max(mostChoices, `give ${mostChoices} choices at most`),
    answer: z
      .int('say which choice is right')
      .min(0, 'say which choice is right')
      .describe('the right choice, from 0'),
    explanation: typedText({ most: 2000 }).default(''),
    code: z.enum(codes, 'say which code it is of: college or high school'),
    rule: typedText({ most: 100 }).default('').describe('rule, section and article, such as 8-3-2'),
    mechanic: typedText({ most: 100 }).default('').describe('where the officials’ manual says so'),
    positions: z.array(z.enum(positions)).max(positions.length).default([]).describe('none: for all'),
  })
  .superRefine(({ choices, answer, rule, mechanic }, context) => {
    const wrong = (field: string, message: string) =>
      context.addIssue({ code: 'custom', path: [field], message });
    if (answer >= choices.length) wrong('answer', 'names a choice that is not there');
    if (new Set(choices.map((one) => one.toLowerCase())).size < choices.length)
      wrong('choices', 'two choices are the same');
    if (rule === '' && mechanic === '') wrong('rule', 'cite the rule, or where the manual says it');
  });
export type Question = z.output<typeof questionSchema>;

export interface KeptQuestion extends Question {
  readonly id: string;
  readonly version: number;
  readonly retiredAt: Date | null;
  /** How often it was asked in a sitting that has ended, any version, and was answered right. */
  readonly asked: number;
  readonly right: number;
}

/** A choice by its letter: people say "B", not 1. */
export const letterOf = (choice: number): string => String.fromCharCode(65 + choice);
