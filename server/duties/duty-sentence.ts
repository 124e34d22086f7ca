import { type CrewSize, crewSizes, type Position, positions } from '../football/positions.ts';
import { type SituationKey, situationOf } from '../football/situations/index.ts';
import type { Duty } from './duty.ts';
import { selectorOf } from './selectors/index.ts';

/** `a, b and c` */
export function listInWords(items: readonly string[], last: 'and' | 'or' = 'and'): string {
  if (items.length <= 1) return items[0] ?? '';
  return `${items.slice(0, -1).join(', ')} ${last} ${items.at(-1)}`;
}

const clauses = (keys: readonly SituationKey[]) => keys.map((key) => situationOf(key).clause);

/** `it is a run and the play goes to a side, unless a team scores`; without the leading "when". */
function triggerInWords(duty: Pick<Duty, 'allOf' | 'anyOf' | 'unless'>): string {
  const parts = clauses(duty.allOf);
  if (duty.anyOf.length > 0) {
    const any = listInWords(clauses(duty.anyOf), 'or');
    parts.push(duty.anyOf.length > 1 && parts.length > 0 ? `either ${any}` : any);
  }
  const unless = duty.unless.length > 0 ? `, unless ${listInWords(clauses(duty.unless), 'or')}` : '';
  return `${listInWords(parts)}${unless}`;
}

function isExactly(named: readonly Position[], ...group: readonly Position[]): boolean {
  return named.length === group.length && group.every((position) => named.includes(position));
}

/** `the line judge is`, `the wings are`, `the official who ends the play (umpire or line judge) is` */
function whoIs(named: readonly Position[], who: Duty['who']): string {
  const { clause } = selectorOf(who);
  const everybody = named.length === positions.length;
  const areWings = isExactly(named, 'head linesman', 'line judge');
  if (clause === '') {
    if (everybody) return 'every official is';
    if (areWings) return 'the wings are';
    return `${listInWords(named.map((position) => `the ${position}`))} ${named.length > 1 ? 'are' : 'is'}`;
  }
  if (named.length === 1) return `the ${named[0]} ${clause} is`;
  if (areWings) return `the wing ${clause} is`;
  return everybody ? `the official ${clause} is` : `the official ${clause} (${listInWords(named, 'or')}) is`;
}

/** `` for every size, else ` in a crew of 7 or 8` */
function sizesInWords(sizes: readonly CrewSize[]): string {
  if (sizes.length === crewSizes.length) return '';
  return ` in a crew of ${listInWords([...sizes].sort((a, b) => a - b).map(String), 'or')}`;
}

/**
 * A duty as one plain sentence: "When the ball is snapped ..., the wing on the side the play goes to is expected
 * to ..."; a duty of the whole game begins with "Over the whole game".
 */
export function dutySentence(duty: Duty): string {
  const others = duty.instead
    .map(({ crewSize, positions: named }) => `; in a crew of ${crewSize}, ${whoIs(named, duty.who)}`)
    .join('');
  const expected = duty.expected.replace(/\.$/, '');
  if (duty.per === 'game')
    return `Over the whole game, ${whoIs(duty.positions, duty.who)} expected${sizesInWords(duty.crewSizes)} to ${expected}${others}.`;
  return `When ${triggerInWords(duty)}, ${whoIs(duty.positions, duty.who)} expected${sizesInWords(duty.crewSizes)} to ${expected}${others}.`;
}
