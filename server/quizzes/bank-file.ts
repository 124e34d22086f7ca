import { z } from 'zod';
import { codes } from '../football/codes.ts';
import { positions } from '../football/positions.ts';
import { line, oneOf, position, text } from '../imports/csv/cells.ts';
import { fileFormat, optional, type RowOf, required } from '../imports/csv/format.ts';
import { disarmed } from '../imports/csv/formula.ts';
import { type Problem, ProblemList } from '../imports/csv/problems.ts';
import { readRows } from '../imports/csv/read-rows.ts';
import { writeCsv } from '../imports/csv/write-csv.ts';
import { type KeptQuestion, letterOf, mostChoices, type Question, questionSchema } from './rules/question.ts';

/** The most questions of one file. */
export const mostInFile = 1000;

const letters = Array.from({ length: mostChoices }, (_, at) => letterOf(at));

const somePositions = z.string().transform((value, context) => {
  const found = value.split(';').map((part) => position.safeParse(part.trim()));
  if (found.every((one) => one.success)) return [...new Set(found.map((one) => one.data!))];
  context.addIssue({ code: 'custom', message: 'has something that is no position' });
  return z.NEVER;
});

/** questions.csv: what goes in comes out. */
export const bankFormat = fileFormat({
  name: 'questions',
  purpose: 'Questions on rules and mechanics, each with its code, what it cites and its answer.',
  columns: {
    label: required('label', line(60), 'Write what the question is called by, such as 8-3-2-a.'),
    text: required('question', text(2000), 'Write the question.'),
    a: optional('a', text(300), 'Write the first choice; left empty with b, the choices are True and False.'),
    b: optional('b', text(300), 'Write the second choice.'),
    c: optional('c', text(300), 'Write the third choice, or leave it empty.'),
    d: optional('d', text(300), 'Write the fourth choice, or leave it empty.'),
    e: optional('e', text(300), 'Write the fifth choice, or leave it empty.'),
    f: optional('f', text(300), 'Write the sixth choice, or leave it empty.'),
    answer: required(
      'answer',
      oneOf([...letters, 'True', 'False']),
      'Write the letter of the right choice, such as B, or True or False.',
    ),
    explanation: optional('explanation', text(2000), 'Write why, or leave it empty.'),
    code: required('code', oneOf(codes), 'Write college or high school.'),
    rule: optional('rule', line(100), 'Write the rule that says so, such as 8-3-2.'),
    mechanic: optional('mechanic', line(100), 'Write where the manual says so, or leave it empty.'),
    positions: optional(
      'positions',
      somePositions,
      `Write positions separated by semicolons, such as ${positions[0]}; ${positions[1]}, or leave it empty for all.`,
    ),
  },
  key: ['label'],
});

export interface ReadBank {
  readonly good: readonly Question[];
  /** In the order of the file's lines. */
  readonly problems: readonly Problem[];
  readonly notes: readonly string[];
  /** Problems beyond those listed. */
  readonly unlisted: number;
}

/** Reads a file of questions: the good ones, and line by line what is wrong with the others. */
export async function readBank(source: AsyncIterable<Uint8Array>): Promise<ReadBank> {
  const problems = new ProblemList();
  const good: Question[] = [];
  const seen = new Map<string, number>();
  for await (const { line, row } of readRows(source, bankFormat, problems)) {
    const add = (column: string, problem: string, fix: string, value = '') =>
      problems.add({ line, column, value, problem, fix });
    const earlier = seen.get(row.label.toLowerCase());
    if (earlier !== undefined) {
      add(
        'label',
        `Line ${earlier} has the same label.`,
        'Give each question a label of its own.',
        row.label,
      );
      continue;
    }
    seen.set(row.label.toLowerCase(), line);
    if (good.length >= mostInFile) {
      add('', `The file has more than ${mostInFile} questions.`, 'Split it into several files.');
      break;
    }
    const parsed = questionSchema.safeParse(questionOf(row));
    if (parsed.success) good.push(parsed.data);
    for (const issue of parsed.error?.issues ?? []) {
      const column = columnOf[String(issue.path[0])] ?? '';
      add(column, `${issue.message[0]!.toUpperCase()}${issue.message.slice(1)}.`, fixOf(column));
    }
  }
  return { good, problems: problems.listed, notes: [], unlisted: problems.unlisted };
}

const columnOf: Readonly<Record<string, string>> = { choices: 'a', answer: 'answer', rule: 'rule' };
const fixOf = (column: string) =>
  Object.values(bankFormat.columns).find(({ heading }) => heading === column)?.fix ?? '';

function questionOf(row: RowOf<(typeof bankFormat)['columns']>): z.input<typeof questionSchema> {
  const { label, text: asked, answer, code, explanation, rule, mechanic } = row;
  const given = [row.a, row.b, row.c, row.d, row.e, row.f];
  const trueOrFalse = answer === 'True' || answer === 'False';
  const choices = given.every((one) => one === null) && trueOrFalse ? ['True', 'False'] : given;
  while (choices.at(-1) === null) choices.pop();
  const at = trueOrFalse
    ? choices.findIndex((one) => one?.toLowerCase() === answer.toLowerCase())
    : letters.indexOf(answer);
  return {
    label,
    text: asked,
    choices: choices.map((one) => one ?? ''),
    answer: at,
    code,
    explanation: explanation ?? '',
    rule: rule ?? '',
    mechanic: mechanic ?? '',
    positions: row.positions ?? [],
  };
}

/** The bank as a file that can be imported again. */
export const writeBank = (questions: readonly KeptQuestion[]): string =>
  writeCsv(
    bankFormat,
    questions.map((one) => {
      const [a, b, c, d, e, f] = one.choices.map(disarmed);
      return {
        label: disarmed(one.label),
        text: disarmed(one.text),
        ...{ a, b, c, d, e, f },
        answer: letterOf(one.answer),
        explanation: disarmed(one.explanation) || null,
        code: one.code,
        rule: disarmed(one.rule) || null,
        mechanic: disarmed(one.mechanic) || null,
        positions: one.positions.join('; ') || null,
      };
    }),
  );

/** The headings alone, to fill in. */
export const emptyBank = (): string =>
  `${Object.values(bankFormat.columns)
    .map(({ heading }) => heading)
    .join(',')}\r\n`;
