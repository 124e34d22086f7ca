import { groupBy } from '../grading/group-by.ts';
import { type SelectionRuleName, selectionRuleNames } from './finding.ts';
import type { Candidate, Choice, ProposalProblem } from './proposal-problem.ts';
import { isAlternate, type Slot, slotsOf } from './slots.ts';

export interface UnfilledPlace {
  readonly gameId: string;
  readonly slot: Slot;
  /** Officials graded in the position; of an alternate, in any position of the game. */
  readonly graded: number;
  /** How many of them each rule leaves out, and of how many of those it is only that it is not known to be met. */
  readonly leftOutBy: readonly {
    readonly rule: SelectionRuleName;
    readonly officials: number;
    readonly notKnown: number;
  }[];
  /** Whom no rule leaves out, but who are needed or held elsewhere. */
  readonly elsewhere: number;
  /** In one sentence. */
  readonly why: string;
}

/** The places that stay empty, each with what took its candidates. */
export function unfilledPlaces(
  problem: ProposalProblem,
  candidates: readonly Candidate[],
  choices: readonly Choice[],
): UnfilledPlace[] {
  return problem.games.flatMap((game) =>
    slotsOf(game)
      .filter((slot) => !choices.some((one) => one.gameId === game.id && one.slot === slot))
      .map((slot) => {
        const here = candidates.filter(
          (one) => one.game.id === game.id && (isAlternate(slot) || one.graded.position === slot),
        );
        const officials = groupBy(here, ({ official }) => official.id);
        const leftOutBy = selectionRuleNames.flatMap((rule) => {
          const out = here.flatMap(({ official, findings }) =>
            findings
              .filter((one) => one.rule === rule && one.leavesOut)
              .map(({ holds }) => ({ id: official.id, holds })),
          );
          const by = new Set(out.map(({ id }) => id));
          const unknown = new Set(out.filter(({ holds }) => holds === 'not known').map(({ id }) => id));
          return by.size === 0 ? [] : [{ rule, officials: by.size, notKnown: unknown.size }];
        });
        const elsewhere = [...officials.values()].filter((own) => own.some((one) => !one.leftOut)).length;
        const place = {
          ...{ gameId: game.id, slot, graded: officials.size, leftOutBy, elsewhere },
        };
        return { ...place, why: inWords(place, game.wholeCrew && !isAlternate(slot)) };
      }),
  );
}

function inWords(
  { slot, graded, leftOutBy, elsewhere }: Omit<UnfilledPlace, 'why'>,
  wholeCrew: boolean,
): string {
  const where = isAlternate(slot) ? 'in any of its positions' : `as ${slot}`;
  if (graded === 0) return `Nobody is graded ${where}.`;
  const rules = leftOutBy.map(({ rule, officials, notKnown }) => {
    const unknown = notKnown === officials ? 'not known' : `${notKnown} of them not known`;
    return `${rule}: ${officials}${notKnown > 0 ? ` (${unknown})` : ''}`;
  });
  if (wholeCrew)
    return `No crew is whole and free for it. Of ${graded} graded ${where}, rules leave out ${rules.join(', ') || 'none'}.`;
  const left =
    elsewhere === 0
      ? 'nobody is left'
      : `${elsewhere} ${elsewhere === 1 ? 'is' : 'are'} left, needed elsewhere or held back by the limits on games and crews`;
  const out = rules.length === 0 ? '' : ` Left out by ${rules.join(', ')}.`;
  return `Of ${graded} graded ${where}, ${left}.${out}`;
}
