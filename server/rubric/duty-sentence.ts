import { type CrewSize, crewSizes, type Position } from '../football/positions.ts';
import { type SituationKey, situationOf } from '../football/situations/index.ts';
import type { Duty } from './duty.ts';
import { selectorOf } from './selectors.ts';

/** `a, b and c` */
export function listInWords(items: readonly string[], last: 'and' | 'or' = 'and'): string {
  if (items.length <= 1) return items[0] ?? '';
  return `${items.slice(0, -1).join(', ')} ${last} ${items.at(-1)}`;
}

const clauses = (keys: readonly SituationKey[]) => keys.map((key) => situationOf(key).clause);

/** `it is a run and the play goes to a side, unless a team scores`; without the leading "when". */
export function triggerInWords(duty: Pick<Duty, 'allOf' | 'anyOf' | 'unless'>): string {
  const parts = clauses(duty.allOf);
  if (duty.anyOf.length > 0) {
    const any = listInWords(clauses(duty.anyOf), 'or');
    parts.push(duty.anyOf.length > 1 && parts.length > 0 ? `either ${any}` : any);
  }
  const unless = duty.unless.length > 0 ? `, unless ${listInWords(clauses(duty.unless), 'or')}` : '';
  return `${listInWords(parts)}${unless}`;
}

const withArticle = (positions: readonly Position[]) => listInWords(positions.map((p) => `the ${p}`));

function sizesInWords(sizes: readonly CrewSize[]): string {
  if (sizes.length === crewSizes.length) return '';
  const sorted = [...sizes].sort((a, b) => a - b);
  return ` in a crew of ${listInWords(sorted.map(String), 'or')}`;
}

/**
 * A duty as one plain sentence: "When the ball is snapped ..., the line judge ... is expected to ...".
 */
export function dutySentence(duty: Duty): string {
  const clause = selectorOf(duty.who).clause;
  const who = `${withArticle(duty.positions)}${clause === '' ? '' : `, if ${clause},`}`;
  const verb = duty.positions.length > 1 ? 'are' : 'is';
  const others = duty.instead
    .map((other) => `; with a crew of ${other.crewSize} it is ${withArticle(other.positions)}`)
    .join('');
  return `When ${triggerInWords(duty)}, ${who} ${verb} expected${sizesInWords(duty.crewSizes)} to ${duty.expected.replace(/\.$/, '')}${others}.`;
}
