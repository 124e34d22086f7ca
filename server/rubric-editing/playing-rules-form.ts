import { z } from 'zod';
import { codeFacts, codes } from '../football/codes.ts';
import { wings } from '../football/crews.ts';
import { type Practices, practicesSchema } from '../football/practices.ts';
import type { PlayingRules } from '../rubric/rubric.ts';
import { type Form, type FormErrors, textOf } from '../web/form.ts';

/** Each practice as a question with its answers, in the order of the page. */
const questions: readonly {
  readonly name: keyof Practices;
  readonly question: string;
  readonly hint: string;
  readonly answers: readonly { readonly value: string; readonly text: string }[];
}[] = [
  {
    name: 'spotInTheMiddle',
    question: 'Who gives the spot when the ball is dead between the hashes?',
    hint: 'The other wing mirrors it. At a side it is always the official of that side.',
    answers: wings.map((value) => ({ value, text: `The ${value}` })),
  },
  {
    name: 'motion',
    question: 'Whose is a player in motion?',
    hint: 'Until the snap, and whether the motion was legal.',
    answers: [
      { value: 'the wing it nears', text: 'The wing that the player comes near' },
      { value: 'the wing it leaves', text: 'The wing that the player leaves' },
    ],
  },
  {
    name: 'pylonsInsideTheFive',
    question: 'Who has the pylons on snaps at or inside the 5?',
    hint: 'In crews with deep wings.',
    answers: [
      { value: 'wings', text: 'The wings, from the goal line' },
      { value: 'deep wings', text: 'The deep wings' },
    ],
  },
  {
    name: 'backJudgeOnFreeKicks',
    question: 'Where does the back judge stand on free kicks?',
    hint: 'It decides who has the goal line and the lines of the kick.',
    answers: [
      { value: "at the kicking team's line", text: "At the kicking team's restraining line" },
      { value: 'deep', text: 'Deep, with the receivers' },
    ],
  },
];

export const playingRulesSchema = z.object({
  code: z.enum(codes, 'Choose the rules book you play by.'),
  practices: practicesSchema,
});

/** What the form of the playing rules shows. */
export function playingRulesView({ code, practices }: PlayingRules, errors: FormErrors = {}) {
  return {
    wrong: errors.code,
    codes: codes.map((value) => {
      const { quarterSeconds, kickoffFrom, overtimeFrom } = codeFacts[value];
      const facts = `quarters of ${quarterSeconds / 60} minutes, kickoffs from the ${kickoffFrom}, overtime from the ${overtimeFrom}`;
      return { value, facts, chosen: value === code };
    }),
    questions: questions.map(({ name, answers, ...rest }) => ({
      ...rest,
      name,
      wrong: errors[name],
      answers: answers.map((answer) => ({ ...answer, chosen: practices[name] === answer.value })),
    })),
  };
}

/** Reads the form: the rules, or what is wrong beside each field. */
export function playingRulesFrom(form: Form): { rules: PlayingRules } | { errors: FormErrors } {
  const practices = Object.fromEntries(questions.map(({ name }) => [name, textOf(form[name])]));
  const read = playingRulesSchema.safeParse({ code: textOf(form.code), practices });
  if (read.success) return { rules: read.data };
  const errors: FormErrors = {};
  for (const { path } of read.error.issues)
    errors[String(path.at(-1))] ??= path[0] === 'code' ? 'Choose the rules book you play by.' : 'Choose one.';
  return { errors };
}
