import { type Consequence, consequences } from '../../duties/consequence.ts';
import type { Duty } from '../../duties/duty.ts';
import { type Finding, findingsOf } from '../../duties/finding.ts';
import {
  type CompiledRubric,
  compileRubric,
  forEachChance,
  forEachGameOpportunity,
} from '../../duties/opportunities.ts';
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

/** The key that says what a call cost: those after the keys of the findings. */
export const consequenceKey = (consequence: Consequence): string =>
  String(callsInOrder.length + 1 + consequences.indexOf(consequence));

/** One official's duties on one play, each list the likeliest to be missed first. */
export interface Owed {
  readonly position: Position;
  readonly letter: string;
  readonly name: string;
  /** Given by the play's facts. */
  readonly duties: readonly Duty[];
  /** The facts logged so far leave open whether they were owed. */
  readonly undecided: readonly Duty[];
  /** Marked although the facts did not give them. */
  readonly added: readonly Duty[];
  /** Owed once in the game, on no play in particular. */
  readonly ofTheGame: readonly Duty[];
}

/** What the facts logged so far say of a duty of this official on the play. */
export type ByFacts = 'owed' | 'undecided' | 'not owed';

export function byFactsOf({ duties, undecided, ofTheGame }: Owed, dutyKey: string): ByFacts {
  const has = (list: readonly Duty[]) => list.some((duty) => duty.key === dutyKey);
  return has(duties) || has(ofTheGame) ? 'owed' : has(undecided) ? 'undecided' : 'not owed';
}

type CountedBy = Pick<EntryState, 'duties' | 'practices'>;
let compiled: (CountedBy & { text: string; rubric: CompiledRubric }) | undefined;

/** Compiled once: what is read from the device's disk again after each change is the same rubric in other objects. */
export function rubricOf({ duties, practices }: CountedBy): CompiledRubric {
  if (compiled?.duties === duties && compiled.practices === practices) return compiled.rubric;
  const text = JSON.stringify([duties, practices]);
  const rubric = compiled?.text === text ? compiled.rubric : compileRubric(duties, practices);
  compiled = { duties, practices, text, rubric };
  return rubric;
}

/** Who owed what on a play, for everybody who works the game, in the trade's order. */
export function owedOn(state: EntryState, playId: string, play: Play): Owed[] {
  const byKey = new Map(state.duties.map((duty) => [duty.key, duty]));
  const names = new Map(state.officials.map((official) => [official.personId, official.name]));
  const crew = crewAtWork(state.crew);
  const rubric = rubricOf(state);
  const owed: { position: Position; duty: Duty }[] = [];
  const undecided: { position: Position; duty: Duty }[] = [];
  const ofTheGame: { position: Position; duty: Duty }[] = [];
  forEachChance(play, crew, rubric, (position, duty, _named, _number, truth) => {
    (truth === true ? owed : undecided).push({ position, duty: byKey.get(duty.key)! });
  });
  forEachGameOpportunity(crew, rubric, (position, duty) =>
    ofTheGame.push({ position, duty: byKey.get(duty.key)! }),
  );
  return positions
    .filter((position) => state.crew.some((member) => member.position === position))
    .map((position) => {
      const mine = (list: readonly { position: Position; duty: Duty }[]) =>
        likeliestFirst(
          state,
          position,
          list.filter((one) => one.position === position).map(({ duty }) => duty),
        );
      const lists = { duties: mine(owed), undecided: mine(undecided), ofTheGame: mine(ofTheGame) };
      const given = new Set(Object.values(lists).flatMap((list) => list.map(({ key }) => key)));
      const marked = state.marks.filter((mark) => mark.playId === playId && mark.position === position);
      const member = state.crew.find((other) => other.position === position)!;
      return {
        position,
        letter: positionLetter[position],
        name: names.get(member.personId) ?? '',
        ...lists,
        added: marked
          .filter((mark) => !given.has(mark.dutyKey))
          .map((mark) => byKey.get(mark.dutyKey))
          .filter((duty) => duty !== undefined),
      };
    });
}

/** By how often this season's reports have it as missed of this position; of those never missed, the weightiest first. */
function likeliestFirst({ missedBefore }: EntryState, position: Position, duties: readonly Duty[]): Duty[] {
  const times = new Map(
    (missedBefore ?? [])
      .filter((one) => one.position === position)
      .map(({ dutyKey, times }) => [dutyKey, times]),
  );
  const timesOf = (duty: Duty) => times.get(duty.key) ?? 0;
  return [...duties].sort((a, b) => timesOf(b) - timesOf(a) || b.weight - a.weight);
}

/** Keys for the duties of a list: digits, then letters that no position uses. */
export const dutyKeys = [...'1234567890adegijkmoqtvwxyz'];

/** The position a letter stands for, or undefined. */
export function positionForKey(key: string): Position | undefined {
  return positions.find((position) => positionLetter[position].toLowerCase() === key.toLowerCase());
}
