import { type Fact, facts } from '../../football/play.ts';
import { type Form, listOf, textOf } from '../../web/form.ts';
import { type ForeignFile, textsIn } from './foreign-file.ts';
import {
  type ClockForm,
  clockForms,
  folded,
  type Mapping,
  mappingSchema,
  type RowRule,
  type Source,
  type SpotForm,
  spotForms,
} from './mapping.ts';
import { plainSource } from './propose.ts';

// The names of the form's fields. Columns are sent by their place in the file, texts by themselves.
//   f:FACT:N:from    "", a column's place, "=" and a value for every play, or "usual"
//   f:FACT:N:as      how the file says it                            f:FACT:N:side, :by, :outcome  further columns
//   v:FACT:COLUMN:TEXT  what a text means ("": nothing said)         o:COLUMN:TEXT  the same of a foul's outcome
//   s:TEXT           what a text for a team or side means            r:N:column, r:N:rule, r:N:texts  rows left out

export const unknown = 'unknown';
export const mostSources = 4;
export const mostRules = 4;

const spots: readonly Fact[] = ['spot', 'endSpot', 'kickTo', 'looseBallSpot'];
const isSpot = (fact: Fact): boolean => spots.includes(fact);

/**
 * The mapping that a form says for a file. `base` is the kept one that it began from: what that says of texts which this
 * file does not have stays.
 */
export function mappingFromForm(form: Form, file: ForeignFile, base: Mapping | undefined): Mapping {
  const field = (name: string) => textOf(form[name]);
  const column = (name: string): string | undefined => {
    const at = field(name);
    return at === '' ? undefined : file.columns[Number(at)];
  };
  const said = (prefix: string, of: string, kept: Readonly<Record<string, string>> = {}) => {
    const there = new Set(textsIn(file, of).map(({ text }) => folded(text)));
    const values: Record<string, string> = Object.fromEntries(
      Object.entries(kept).filter(([text]) => !there.has(text)),
    );
    const start = `${prefix}${file.columns.indexOf(of)}:`;
    for (const [name, value] of Object.entries(form)) {
      if (!name.startsWith(start)) continue;
      const meaning = textOf(value);
      if (meaning !== '') values[name.slice(start.length)] = meaning === unknown ? '' : meaning;
    }
    return values;
  };
  const keptOf = (fact: Fact, of: string) =>
    base?.facts[fact]?.find((source) => 'column' in source && source.column === of);

  const read: Partial<Record<Fact, Source[]>> = {};
  for (const fact of facts) {
    const list: Source[] = [];
    for (let number = 0; number < mostSources; number += 1) {
      const name = `f:${fact}:${number}`;
      const from = field(`${name}:from`);
      if (from.startsWith('=') && from.length > 1) {
        list.push({ from: 'fixed', value: from.slice(1, 201) });
        continue;
      }
      if (from === 'usual' && fact === 'spot') {
        list.push({ from: 'usual' });
        continue;
      }
      const chosen = column(`${name}:from`);
      if (chosen === undefined) continue;
      const kept = keptOf(fact, chosen);
      const values = said(`v:${fact}:`, chosen, kept && 'values' in kept ? kept.values : {});
      const as = field(`${name}:as`);
      if (fact === 'endSpot' && as === 'gained') list.push({ from: 'gained', column: chosen, values });
      else if (isSpot(fact)) {
        const side = column(`${name}:side`);
        const form: SpotForm = as in spotForms ? (as as SpotForm) : 'count';
        list.push({
          from: 'spot',
          column: chosen,
          as: form,
          ...(form === 'side and line' && side !== undefined && side !== chosen ? { side } : {}),
          values,
        });
      } else if (fact === 'clockSeconds') {
        const form: ClockForm = as in clockForms ? (as as ClockForm) : 'left in the quarter';
        list.push({ from: 'clock', column: chosen, as: form, values });
      } else if (fact === 'fouls') {
        const by = column(`${name}:by`);
        const outcome = column(`${name}:outcome`);
        list.push({
          from: 'fouls',
          column: chosen,
          values,
          ...(by === undefined ? {} : { by }),
          ...(outcome === undefined ? {} : { outcome }),
          outcomes:
            outcome === undefined ? {} : said('o:', outcome, kept?.from === 'fouls' ? kept.outcomes : {}),
        });
      } else {
        const source = plainSource(fact, chosen);
        list.push(source.from === 'column' ? { ...source, values } : source);
      }
    }
    if (list.length > 0) read[fact] = list;
  }

  const rules: RowRule[] = [];
  for (let number = 0; number < mostRules; number += 1) {
    const of = column(`r:${number}:column`);
    if (of === undefined) continue;
    const there = new Set(textsIn(file, of).map(({ text }) => folded(text)));
    const kept =
      base?.rows.find((rule) => rule.column === of)?.texts.filter((text) => !there.has(text)) ?? [];
    const rule = field(`r:${number}:rule`) === 'only' ? 'only' : 'leave out';
    // An empty cell is ticked by the word that it is shown as.
    const texts = listOf(form[`r:${number}:texts`]).map((text) => (text === emptyText ? '' : folded(text)));
    rules.push({ column: of, rule, texts: [...new Set([...kept, ...texts])] });
  }

  const sides: Mapping['sides'] = { ...base?.sides };
  for (const [name, value] of Object.entries(form)) {
    if (!name.startsWith('s:')) continue;
    const meaning = textOf(value);
    const text = name.slice(2);
    if (meaning === '') delete sides[text];
    else sides[text] = meaning === unknown ? '' : meaning;
  }

  const order = field('order');
  const orderColumn = column('orderColumn');
  return mappingSchema.parse({
    headings: headingsFrom(form),
    order:
      order === 'column' && orderColumn !== undefined
        ? { by: 'column', column: orderColumn }
        : { by: order === 'file from the end' ? order : 'file' },
    rows: rules,
    facts: read,
    freeKicksNameReceiver: field('freeKicksNameReceiver') === 'yes',
    filmTime: column('filmTime'),
    note: column('note'),
    sides,
  });
}

/** How an empty cell is called where texts are listed. */
export const emptyText = '(empty)';

/** The line of headings that a form names: 0 to 30. */
export function headingsFrom(form: Form): number {
  const number = Number(textOf(form.headings) || '1');
  return Number.isInteger(number) && number >= 0 && number <= 30 ? number : 1;
}
