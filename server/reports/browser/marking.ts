import type { Duty } from '../../duties/duty.ts';
import { type Finding, findingsOf } from '../../duties/finding.ts';
import { type CompiledRubric, compileRubric, opportunitiesOf } from '../../duties/opportunities.ts';
import type { Play } from '../../football/play.ts';
import { type Position, positionLetter, positions } from '../../football/positions.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { EntryState } from '../entry/entry-state.ts';

// The exceptions come first: an opportunity without a mark counts as met.
const mechanicsInOrder: readonly Finding[] = ['missed', 'model', 'not seen', 'done'];
const callsInOrder: readonly Finding[] = [
  'wrong call',
  'missed foul',
  'cannot tell',
  'right call',
  'right no-call',
];

/** The findings for a duty, the likeliest to be marked first. */
export function findingsFor(duty: Pick<Duty, 'gradedAs'>): readonly Finding[] {
  const order = duty.gradedAs === 'call' ? callsInOrder : mechanicsInOrder;
  const all = findingsOf(duty.gradedAs);
  return order.filter((finding) => all.includes(finding));
}

/** One official's duties on one play. */
export interface Owed {
  readonly position: Position;
  readonly letter: string;
  readonly name: string;
  /** Given by the play's facts. */
  readonly duties: readonly Duty[];
  /** Marked although the facts did not give them: the mark makes the opportunity. */
  readonly added: readonly Duty[];
}

let compiled: { duties: readonly Duty[]; rubric: CompiledRubric } | undefined;

export function rubricOf(duties: readonly Duty[]): CompiledRubric {
  // The same list object until the rubric is loaded again.
  if (compiled?.duties !== duties) compiled = { duties, rubric: compileRubric(duties) };
  return compiled.rubric;
}

/** Who owed what on a play, for everybody who works the game, in the trade's order. */
export function owedOn(state: EntryState, playId: string, play: Play): Owed[] {
  const duties = new Map(state.duties.map((duty) => [duty.key, duty]));
  const names = new Map(state.officials.map((official) => [official.personId, official.name]));
  const opportunities = opportunitiesOf(play, crewAtWork(state.crew), rubricOf(state.duties));
  return positions
    .filter((position) => state.crew.some((member) => member.position === position))
    .map((position) => {
      const owed = opportunities.filter((opportunity) => opportunity.position === position);
      const keys = new Set(owed.map((opportunity) => opportunity.dutyKey));
      const marked = state.marks.filter((mark) => mark.playId === playId && mark.position === position);
      const member = state.crew.find((other) => other.position === position)!;
      return {
        position,
        letter: positionLetter[position],
        name: names.get(member.personId) ?? '',
        duties: [...keys].map((key) => duties.get(key)!),
        added: marked
          .filter((mark) => !keys.has(mark.dutyKey))
          .map((mark) => duties.get(mark.dutyKey))
          .filter((duty) => duty !== undefined),
      };
    });
}

/** Keys for the duties of a list: digits, then letters that no position uses. */
export const dutyKeys = [...'1234567890adegijkmoqtvwxyz'];

/** The position a letter stands for, or undefined. */
export function positionForKey(key: string): Position | undefined {
  return positions.find((position) => positionLetter[position].toLowerCase() === key.toLowerCase());
}
