import type { Position } from '../football/positions.ts';
import { type CompiledRubric, type CrewAtWork, sharesIn } from './compiled-rubric.ts';
import { listInWords } from './duty-sentence.ts';

/** What a rubric lacks for a crew: who owes nothing at all, and what to do about it in one sentence. */
export interface Lacking {
  readonly positions: readonly Position[];
  readonly sentence: string;
}

/** The positions of this crew that no duty falls to, not even to cover for somebody; undefined when each owes some. */
export function lackingFor(rubric: CompiledRubric, crew: CrewAtWork): Lacking | undefined {
  const owing = new Set(sharesIn(rubric, crew).flatMap((shares) => shares.flatMap(({ owedBy }) => owedBy)));
  const without = crew.present.filter((position) => !owing.has(position));
  if (without.length === 0) return undefined;
  const sentence =
    rubric.duties.length === 0
      ? 'The season has no rubric yet: the coordinator begins it on the Rubric page.'
      : without.length === crew.present.length
        ? `The rubric expects nothing of a crew of ${crew.size}: its duties need that crew size, which the coordinator adds on the Rubric page.`
        : `In this crew of ${crew.size} the rubric expects nothing of the ${listInWords(without, 'or')}: the coordinator adds a duty for them on the Rubric page.`;
  return { positions: without, sentence };
}
