import { foulsFromText, foulsToText } from '../../football/fouls.ts';
import { type Fact, type Play, playSchema } from '../../football/play.ts';
import { type Form, textOf } from '../../web/form.ts';
import { clockText, numberFrom, type PlayField, playFields, sections } from '../entry/play-fields.ts';

// A play as a plain form of fields, without script: to correct one, or to add one.

/** What is wrong with each fact, by its name; under `all`, with the play as a whole. */
export type WrongFacts = Record<string, string>;

const titles = { start: 'At the snap', result: 'What came of it' } as const;
const titleOf = (group: PlayField['group']) =>
  group === 'start' || group === 'result' ? titles[group] : group;
/** With what else there is to write, where the entry page has lists to choose from. */
const hints: Partial<Record<Fact, string>> = {
  fouls: 'holding / offense / umpire / accepted / 72 / live ball / 38; or none',
};

/** The fields in their groups, with the play's facts or what a form sent. */
export function playFieldGroups(play: Play, form: Form | undefined, wrong: WrongFacts) {
  return (['start', 'result', ...sections] as const).map((group) => ({
    group: titleOf(group),
    fields: playFields
      .filter((field) => field.group === group)
      .map((field) => fieldView(field, play, form, wrong)),
  }));
}

/** One sentence above the form; empty when nothing is wrong. */
export const wrongInSum = (wrong: WrongFacts): string =>
  wrong.all ?? (Object.keys(wrong).length > 0 ? 'Some facts cannot be read; see below.' : '');

function fieldView(field: PlayField, play: Play, form: Form | undefined, wrong: WrongFacts) {
  const value = play[field.fact];
  const kept =
    value === undefined
      ? ''
      : field.control === 'clock'
        ? clockText(value as number)
        : field.control === 'fouls'
          ? foulsToText(value as NonNullable<Play['fouls']>)
          : value === true
            ? 'yes'
            : value === false
              ? 'no'
              : String(value);
  const text = form ? textOf(form[field.fact]) : kept;
  const options = field.control === 'yes-no' ? ['yes', 'no'] : field.options;
  return {
    fact: field.fact,
    label: field.label,
    hint: field.hint ?? hints[field.fact],
    text,
    wrong: wrong[field.fact],
    required: field.fact === 'kind',
    options: options?.map((option) => ({ option, chosen: option === text })),
  };
}

/** The play that a form describes, or what is wrong with each fact. */
export function playFromForm(form: Form): { play?: Play; wrong: WrongFacts } {
  const facts: Record<string, unknown> = {};
  const wrong: WrongFacts = {};
  for (const field of playFields) {
    const text = textOf(form[field.fact]).trim();
    if (text === '') continue;
    try {
      facts[field.fact] = valueFrom(field, text);
    } catch (error) {
      wrong[field.fact] = (error as Error).message;
    }
  }
  const checked = playSchema.safeParse(facts);
  if (checked.success && Object.keys(wrong).length === 0) return { play: checked.data, wrong };
  for (const issue of checked.error?.issues ?? []) wrong[String(issue.path[0] ?? 'all')] ??= issue.message;
  return { wrong };
}

function valueFrom(field: PlayField, text: string): unknown {
  if (field.control === 'yes-no') return text === 'yes';
  if (field.control === 'fouls') return foulsFromText(text);
  if (field.control === 'choice') return text;
  return numberFrom(field, text);
}
