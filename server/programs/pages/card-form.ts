import { positions } from '../../football/positions.ts';
import { aspects } from '../../training/aspects.ts';
import { showings } from '../../training/lesson.ts';
import { type Form, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import type { Card } from '../program.ts';

/** How many choices of a question the form has room for. */
const choicesShown = 5;
const places = Array.from({ length: choicesShown }, (_, at) => at + 1);

/** A card as its form sends it, for the schema. Choices left empty are not there. */
export function cardOfForm(form: Form) {
  const text = (name: string) => textOf(form[name]).trim();
  return {
    topic: text('topic'),
    aspect: text('aspect'),
    showing: text('showing'),
    position: text('position'),
    dutyKey: text('dutyKey') || null,
    answer: text('answer'),
    answeredOn: text('answeredOn') || null,
    ruleCited: text('ruleCited'),
    mechanicCited: text('mechanicCited'),
    twoMechanics: text('twoMechanics') === 'yes',
    firstKey: text('firstKey'),
    secondKey: text('secondKey'),
    question: text('question'),
    choices: places
      .map((at) => ({ text: text(`choice${at}`), right: text(`right${at}`) === 'yes' }))
      .filter((choice) => choice.text !== ''),
    narration: text('narration'),
    secondsBefore: text('secondsBefore'),
    secondsAfter: text('secondsAfter'),
  };
}

export type CardValues = Card | ReturnType<typeof cardOfForm>;

const showingLabels = { good: 'Done well', bad: 'Not done well', 'to discuss': 'To discuss' } as const;

/** What the card's form shows and chooses from. */
export function cardForm(values: CardValues, duties: readonly { key: string; title: string }[]) {
  const choose = (list: readonly string[], chosen: string) =>
    list.map((id) => ({ id, name: capital(id), chosen: id === chosen }));
  return {
    values,
    aspects: choose(aspects, values.aspect),
    showings: showings.map((id) => ({ id, name: showingLabels[id], chosen: id === values.showing })),
    positions: choose(positions, values.position),
    duties: duties.map(({ key, title }) => ({ id: key, name: title, chosen: key === values.dutyKey })),
    choices: places.map((at) => ({
      at,
      text: values.choices[at - 1]?.text ?? '',
      right: values.choices[at - 1]?.right ?? false,
    })),
  };
}

const labels: Partial<Record<keyof Card, string>> = {
  topic: 'Topic',
  aspect: 'What it shows',
  showing: 'Shown as',
  position: 'Position',
  answer: 'Answer of record',
  ruleCited: 'Rule',
  mechanicCited: 'Mechanic',
  twoMechanics: 'Two mechanics acceptable',
  firstKey: 'First key point',
  secondKey: 'Second key point',
  question: 'Question',
  choices: 'Choices',
  narration: 'Narration',
  secondsBefore: 'Seconds before the snap',
  secondsAfter: 'Seconds after the snap',
};

/** Where the card as it is now differs from what was sent, in words. */
export function differencesNow(now: Card, sent: Card): { label: string; now: string }[] {
  return (Object.keys(labels) as (keyof Card)[])
    .filter((field) => JSON.stringify(now[field]) !== JSON.stringify(sent[field]))
    .map((field) => ({ label: labels[field]!, now: inWords(now[field]) }));
}

function inWords(value: Card[keyof Card]): string {
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (Array.isArray(value))
    return value.map(({ text, right }) => `${text}${right ? ' (right)' : ''}`).join('; ') || 'none';
  return String(value ?? '') || 'empty';
}
