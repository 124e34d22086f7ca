import { commonPractice, type Duty, dutyCategories } from '../duties/duty.ts';
import type { Refusal } from '../duties/refusals.ts';
import { selectors } from '../duties/selectors/index.ts';
import { crewSizes, positions } from '../football/positions.ts';
import { situationGroups } from '../football/situations/index.ts';
import { type Form, listOf, textOf } from '../web/form.ts';

/** Choices offered for each list of situations; a duty that names more gets as many as it has and one to spare. */
const leastChoices = 4;

/** `Mark the spot!` as a key: `mark-the-spot`. */
function keyFrom(title: string): string {
  return title
    .toLowerCase()
    .normalize('NFKD')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 60)
    .replace(/-+$/, '');
}

/** What a form sends, as a duty yet to be checked. `key` is the duty's that is changed, if one is. */
export function dutyFromForm(form: Form, key?: string): Record<string, unknown> {
  const text = (name: string) => textOf(form[name]).trim();
  const chosen = (name: string) => listOf(form[name]).filter((value) => value !== '');
  const weight = text('weight').replace(',', '.');
  return {
    key: key ?? (text('key') || keyFrom(text('title'))),
    title: text('title'),
    category: text('category'),
    ...(text('per') === '' ? {} : { per: text('per') }),
    expected: text('expected').replace(/\s+/g, ' '),
    positions: chosen('positions'),
    crewSizes: chosen('crewSizes').map(Number),
    instead: crewSizes
      .map((crewSize) => ({ crewSize, positions: chosen(`instead-${crewSize}`) }))
      .filter((other) => other.positions.length > 0),
    who: text('who'),
    allOf: [...new Set(chosen('allOf'))],
    anyOf: [...new Set(chosen('anyOf'))],
    unless: [...new Set(chosen('unless'))],
    weight: weight === '' ? undefined : Number(weight),
    gradedAs: text('gradedAs'),
    guidance: text('guidance'),
    source: text('source') || commonPractice,
  };
}

/** A new duty's form, before anything is filled in. */
export const blankDuty: Record<string, unknown> = {
  per: 'play',
  crewSizes: [...crewSizes],
  who: 'each',
  weight: 1,
  gradedAs: 'mechanics',
  source: commonPractice,
};

/** Everything the form's template shows, from a duty or from what was sent, with errors beside the fields. */
export function dutyFormView(values: Record<string, unknown> | Duty, refusals: readonly Refusal[] = []) {
  const value = values as Record<string, unknown>;
  const list = (name: string) => (value[name] as readonly unknown[] | undefined) ?? [];
  const errors: Record<string, string> = {};
  for (const { field, reason } of refusals) {
    const name = field.split('.')[0]!;
    errors[name] = errors[name] === undefined ? reason : `${errors[name]}; ${reason}`;
  }
  const instead = list('instead') as readonly { crewSize: number; positions: readonly string[] }[];
  return {
    values: value,
    errors,
    categories: dutyCategories.map((name) => ({ name, chosen: name === value.category })),
    positions: positions.map((name) => ({ name, chosen: list('positions').includes(name) })),
    crewSizes: crewSizes.map((size) => ({ size, chosen: list('crewSizes').includes(size) })),
    selectors: selectors.map(({ key, label }) => ({ key, label, chosen: key === value.who })),
    isCall: value.gradedAs === 'call',
    isOfTheGame: value.per === 'game',
    situationLists: [
      {
        name: 'allOf',
        label: 'When all of these hold',
        hint: 'The duty applies only on plays where every one of them is known to be true.',
      },
      {
        name: 'anyOf',
        label: 'and at least one of these',
        hint: 'Leave empty when the ones above are enough.',
      },
      {
        name: 'unless',
        label: 'unless one of these holds',
        hint: 'The duty does not apply where one is true.',
      },
    ].map((one) => ({ ...one, wrong: errors[one.name], choices: situationChoices(list(one.name)) })),
    insteadOpen: instead.length > 0,
    instead: crewSizes.map((size) => ({
      size,
      positions: positions.map((name) => ({
        name,
        chosen: instead.some((other) => other.crewSize === size && other.positions.includes(name)),
      })),
    })),
  };
}

function situationChoices(chosen: readonly unknown[]) {
  const shown = Math.min(8, Math.max(leastChoices, chosen.length + 1));
  return Array.from({ length: shown }, (_, index) => ({
    number: index + 1,
    groups: situationGroups.map(({ title, situations }) => ({
      title,
      situations: situations.map(({ key, clause }) => ({ key, clause, chosen: chosen[index] === key })),
    })),
  }));
}
