import { factNames, factValueInWords } from '../football/fact-words.ts';
import type { Fact, Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import { explain } from '../football/situations/explain.ts';
import { type SituationKey, situationOf } from '../football/situations/index.ts';
import { not, or, type Truth } from '../football/three-valued.ts';
import { type CompiledRubric, type CrewAtWork, fieldOf, sharesIn } from './compiled-rubric.ts';

/** Why a position did not owe a duty on a play, and the facts that say so. */
interface WhyNotOwed {
  /** A sentence. */
  readonly why: string;
  /** Logged, and to be mended if one of them is wrong; empty when it is no matter of facts. */
  readonly facts: readonly Fact[];
}

/**
 * Why this position did not owe this duty on this play; undefined when it did, when the facts leave it open, or when the
 * duty is one of the whole game.
 */
export function whyNotOwed(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  of: { readonly position: Position; readonly dutyKey: string },
): WhyNotOwed | undefined {
  const number = rubric.duties.findIndex(({ duty }) => duty.key === of.dutyKey);
  const compiled = rubric.duties[number];
  if (compiled === undefined || compiled.duty.per === 'game') return undefined;
  const { duty, selector } = compiled;
  const told = (sentence: string, decide: (play: Play) => Truth): WhyNotOwed | undefined => {
    const { truth, decidedBy } = explain(decide, play);
    if (truth !== false) return undefined;
    const logged = decidedBy.map((fact) => `${factNames[fact]} ${factValueInWords(play, fact)}`).join(', ');
    return {
      why: `${sentence}; ${logged === '' ? 'nothing logged says so' : `logged is: ${logged}`}.`,
      facts: decidedBy,
    };
  };
  if (!sharesIn(rubric, crew)[number]!.some(({ owedBy }) => owedBy.includes(of.position)))
    return { why: `In a crew of ${crew.size} it is no duty of the ${of.position}.`, facts: [] };
  const clause = (key: SituationKey) => situationOf(key).clause;
  const decide = (key: SituationKey) => situationOf(key).decide;
  for (const key of duty.allOf) {
    const found = told(`It is owed when ${clause(key)}`, decide(key));
    if (found) return found;
  }
  for (const key of duty.unless) {
    const found = told(`It is not owed when ${clause(key)}`, (seen) => not(decide(key)(seen)));
    if (found) return found;
  }
  if (duty.anyOf.length > 0) {
    const found = told(`It is owed when ${duty.anyOf.map(clause).join(', or ')}`, (seen) =>
      or(...duty.anyOf.map((key) => decide(key)(seen))),
    );
    if (found) return found;
  }
  const field = fieldOf(rubric, crew);
  return told(`It falls to the official ${selector.clause}`, (seen) =>
    selector.selects(of.position, seen, field),
  );
}
