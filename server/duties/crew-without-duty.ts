import type { CrewSize, Position } from '../football/positions.ts';
import { type CrewAtWork, sharesIn } from './compiled-rubric.ts';
import type { Duty } from './duty.ts';
import { listInWords } from './duty-sentence.ts';
import { compileRubric, fullCrew } from './opportunities.ts';

/** The positions of this crew that no duty of the rubric falls to, not even to cover for somebody. */
export function positionsWithoutDuty(duties: readonly Duty[], crew: CrewAtWork): readonly Position[] {
  const owing = new Set(
    sharesIn(compileRubric(duties), crew).flatMap((shares) => shares.flatMap(({ owedBy }) => owedBy)),
  );
  return crew.present.filter((position) => !owing.has(position));
}

/** What a rubric lacks for full crews of this size, in one sentence with the way on; undefined when nothing. */
export function lackingFor(duties: readonly Duty[], size: CrewSize): string | undefined {
  const crew = fullCrew(size);
  const without = positionsWithoutDuty(duties, crew);
  if (without.length === 0) return undefined;
  if (without.length === crew.present.length) {
    return `The rubric expects nothing of a crew of ${size}: give its duties that crew size, or work in crews of a size it has.`;
  }
  return `In a crew of ${size} the rubric expects nothing of the ${listInWords([...without], 'or')}: add a duty for them, or give one that crew size.`;
}
