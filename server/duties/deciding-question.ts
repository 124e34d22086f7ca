import type { Fact, Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import { sampleValues } from '../football/sample-values.ts';
import { and, type Truth } from '../football/three-valued.ts';
import {
  type CompiledRubric,
  type CrewAtWork,
  candidatesIn,
  fieldOf,
  SituationsOfPlay,
} from './compiled-rubric.ts';
import { factsByWorth, undecidedOn } from './fact-worth.ts';

type Asked = (play: Play) => Truth;

/** The one fact to ask for, when a mark meets a duty of which nobody can say whether it was owed. */
export interface DecidingQuestion {
  readonly fact: Fact;
  /** What an answer would make of it. */
  readonly owedIf: (value: unknown) => Truth;
}

/**
 * The fact that decides most surely whether this position owed this duty. Whether it came up at all is asked before
 * whose it was, since who marked it knows that; of several facts the one of whose answers the most decide, then the one
 * that decides most else on the play. Undefined when it is decided.
 */
export function decidingQuestion(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  of: { readonly position: Position; readonly dutyKey: string },
): DecidingQuestion | undefined {
  const missing = undecidedOn(play, crew, rubric).find(
    ({ duty, positions }) => duty.key === of.dutyKey && positions.includes(of.position),
  )?.missing;
  if (missing === undefined || missing.length === 0) return undefined;
  const { cameUp, owed } = questionsOf(of, crew, rubric);
  const asked = cameUp(play) === 'unknown' ? cameUp : owed;
  const decides = new Map(missing.map((fact) => [fact, shareDeciding(asked, play, fact)]));
  const most = Math.max(...decides.values());
  const best = missing.filter((fact) => decides.get(fact) === most);
  const fact =
    best.length === 1
      ? best[0]!
      : (factsByWorth(play, crew, rubric).find((worth) => best.includes(worth.fact))?.fact ?? best[0]!);
  return { fact, owedIf: (value) => owed({ ...play, [fact]: value }) };
}

function questionsOf(
  { position, dutyKey }: { readonly position: Position; readonly dutyKey: string },
  crew: CrewAtWork,
  rubric: CompiledRubric,
): { cameUp: Asked; owed: Asked } {
  const situations = new SituationsOfPlay(rubric);
  const field = fieldOf(rubric, crew);
  const candidate = (play: Play) =>
    candidatesIn(rubric, crew, play.kind).find(
      ({ compiled, shares }) =>
        compiled.duty.key === dutyKey && shares.some(({ owedBy }) => owedBy.includes(position)),
    );
  const cameUp: Asked = (play) => {
    const found = candidate(play);
    if (!found) return false;
    situations.turnTo(play);
    return situations.trigger(found.compiled);
  };
  const owed: Asked = (play) => {
    const found = candidate(play);
    if (!found) return false;
    situations.turnTo(play);
    return and(situations.trigger(found.compiled), situations.selects(found.compiled, position, field));
  };
  return { cameUp, owed };
}

function shareDeciding(asked: Asked, play: Play, fact: Fact): number {
  const answers: readonly unknown[] = sampleValues[fact];
  const deciding = answers.filter((value) => asked({ ...play, [fact]: value }) !== 'unknown');
  return deciding.length / answers.length;
}
