import { positionsOf, whoCovers } from '../football/crews.ts';
import { type Condition, findExamplePlay } from '../football/example-play.ts';
import type { Play } from '../football/play.ts';
import { crewSizes } from '../football/positions.ts';
import { usualPractices } from '../football/practices.ts';
import { openUntilLogged, type SituationKey, situationOf } from '../football/situations/index.ts';
import { not, or } from '../football/three-valued.ts';
import { crewOnField } from '../football/zones/crew-on-field.ts';
import type { Duty } from './duty.ts';
import { namedPositions } from './named-positions.ts';
import { selectorOf } from './selectors/index.ts';

type Trigger = Pick<Duty, 'allOf' | 'anyOf' | 'unless'>;
type Applies = Trigger & Pick<Duty, 'positions' | 'instead' | 'who'> & Partial<Pick<Duty, 'crewSizes'>>;

const holds = (key: SituationKey): Condition => {
  const { reads, decide } = openUntilLogged(situationOf(key));
  return { reads, holds: decide };
};

const fails = (key: SituationKey): Condition => {
  const { reads, decide } = situationOf(key);
  return { reads, holds: (play) => not(decide(play)) };
};

function somebodyOwes(duty: Applies): Condition {
  const selector = selectorOf(duty.who);
  const asked = (duty.crewSizes ?? crewSizes).flatMap((size) => {
    const present = new Set(positionsOf(size));
    const field = crewOnField([...present], usualPractices);
    const owing = new Set(namedPositions(duty, size).flatMap((named) => whoCovers(named, present)));
    return [...owing].map((position) => ({ position, field }));
  });
  return {
    reads: selector.reads,
    holds: (play) => or(...asked.map(({ position, field }) => selector.selects(position, play, field))),
  };
}

/** A play on which the duty applies to somebody: shown as an example. Undefined when there can be none. */
export function exampleFor(duty: Applies): Play | undefined {
  const always = [...duty.allOf.map(holds), ...duty.unless.map(fails), somebodyOwes(duty)];
  if (duty.anyOf.length === 0) return findExamplePlay(always);
  for (const key of duty.anyOf) {
    const example = findExamplePlay([...always, holds(key)]);
    if (example !== undefined) return example;
  }
  return undefined;
}

/** Why a duty can never apply, in one sentence that names the smallest set at fault; undefined when it can. */
export function whyNeverApplies(duty: Applies): string | undefined {
  if (exampleFor(duty) !== undefined) return undefined;
  const { anyOf, ...withoutAny } = duty;
  const always = [
    ...duty.allOf.map((key) => ({ text: `"${situationOf(key).clause}"`, condition: holds(key) })),
    ...duty.unless.map((key) => ({ text: `"not: ${situationOf(key).clause}"`, condition: fails(key) })),
    { text: `"${selectorOf(duty.who).label}"`, condition: somebodyOwes(duty) },
  ];
  if (anyOf.length > 0 && exampleFor({ ...withoutAny, anyOf: [] }) !== undefined) {
    const each = anyOf.map((key) =>
      inWords(
        smallestContradiction([...always, { text: `"${situationOf(key).clause}"`, condition: holds(key) }]),
      ),
    );
    return [...new Set(each)].join('; ');
  }
  return inWords(smallestContradiction(always));
}

function inWords(guilty: readonly { text: string }[]): string {
  return `no play can have ${guilty.map((part) => part.text).join(' together with ')}`;
}

/** Leaves out every part without which it is still contradictory. */
function smallestContradiction<P extends { condition: Condition }>(parts: readonly P[]): P[] {
  let left = [...parts];
  for (const part of parts) {
    const without = left.filter((other) => other !== part);
    if (findExamplePlay(without.map((other) => other.condition)) === undefined) left = without;
  }
  return left;
}
