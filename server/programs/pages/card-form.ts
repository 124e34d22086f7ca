import { positions } from '../../football/positions.ts';
import { aspects } from '../../training/aspects.ts';
import { showings } from '../../training/lesson.ts';
import { type Form, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { cardOfFields, choicePlaces } from '../card-of-form.ts';
import type { Card } from '../program.ts';

/** A card as its form sends it, for the schema. */
export const cardOfForm = (form: Form) => cardOfFields((name) => textOf(form[name]).trim());

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
    choices: choicePlaces.map((at) => ({
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
