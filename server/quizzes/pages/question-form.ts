import { codes } from '../../football/codes.ts';
import { positions } from '../../football/positions.ts';
import { type Form, type FormErrors, listOf, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { letterOf, mostChoices, type Question } from '../rules/question.ts';

/** What a form of a question sends, as its schema takes it: empty choices at the end are left out. */
export function questionOfForm(form: Form) {
  const choices = Array.from({ length: mostChoices }, (_, at) =>
    textOf(form[`choice${letterOf(at)}`]).trim(),
  );
  while (choices.at(-1) === '') choices.pop();
  const answer = textOf(form.answer);
  return {
    label: textOf(form.label),
    text: textOf(form.text),
    choices,
    answer: answer === '' ? Number.NaN : Number(answer),
    explanation: textOf(form.explanation),
    code: textOf(form.code),
    rule: textOf(form.rule),
    mechanic: textOf(form.mechanic),
    positions: listOf(form.positions),
  };
}

export const emptyQuestion = (code: string) => ({
  label: '',
  text: '',
  choices: [] as string[],
  answer: Number.NaN,
  explanation: '',
  code,
  rule: '',
  mechanic: '',
  positions: [] as string[],
});

export function questionForm(values: ReturnType<typeof questionOfForm> | Question, errors: FormErrors = {}) {
  return {
    values,
    errors,
    choices: Array.from({ length: mostChoices }, (_, at) => ({
      letter: letterOf(at),
      at,
      name: `choice${letterOf(at)}`,
      value: values.choices[at] ?? '',
      right: values.answer === at,
      needed: at < 2,
    })),
    codes: codes.map((value) => ({ id: value, name: capital(value), chosen: values.code === value })),
    positions: positions.map((value) => ({
      value,
      label: capital(value),
      chosen: (values.positions as readonly string[]).includes(value),
    })),
  };
}
