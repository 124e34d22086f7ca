import { rulesBrokenBy } from '../planning/alternatives.ts';
import type { Choice } from '../planning/planning-problem.ts';
import { type PreparedProblem, prepare } from '../planning/prepared-problem.ts';
import { spreadBeforeData } from '../planning/prices.ts';
import type { BrokenRule } from '../planning/rules.ts';
import { notFound, Problem } from '../web/problem.ts';
import type { SeasonMaterial } from './season-material.ts';
import { planningProblemOf, presentPlan } from './season-problem.ts';

type Place = Pick<Choice, 'gameId' | 'observerId'>;

/** What a coordinator wants changed: who is taken off a game, who is offered one. */
export interface WantedChange {
  readonly withdraw: readonly Place[];
  readonly offer: readonly Choice[];
  /** Chosen by a person, one by one: suggestions leave it alone until it is unlocked. */
  readonly byHand?: boolean;
  /** Why a rule may be broken; without, an offer that breaks one is refused. */
  readonly reason?: string | undefined;
}

/** A change that keeps the rules, or breaks them knowingly. */
export interface AssignmentChange {
  readonly withdraw: readonly Place[];
  readonly offer: readonly (Choice & {
    readonly locked: boolean;
    /** Rules this choice breaks and why the coordinator chose it all the same. */
    readonly override?: { readonly rules: readonly string[]; readonly reason: string };
  })[];
}

/** An offer that breaks a rule without a reason given. */
export class RulesBroken extends Problem {
  constructor(readonly broken: readonly BrokenRule[]) {
    super(
      409,
      'Conflict',
      `An offer breaks a rule: ${broken.map(({ why }) => why).join('; ')}. Send a reason to make it all the same.`,
      broken.map(({ rule, why }) => ({ field: 'body.offer', message: `${rule}: ${why}` })),
    );
  }
}

/** An offer to somebody who is not, or no longer, an active observer. */
export class ObserverNotActive extends Problem {
  constructor() {
    super(404, 'Not found', 'There is no such active observer.');
  }
}

const isSame = (one: Place, other: Place) =>
  one.gameId === other.gameId && one.observerId === other.observerId;

/**
 * The one rule for offering a game: an active observer, a game on which no report was begun, and none of the planner's
 * rules broken once the whole change is made, unless the coordinator says why. Only asked of a season as it stands
 * while nobody else can change it: see `changeAssignments`.
 * @throws Problem 404 when a game is not open; ObserverNotActive; RulesBroken
 */
export function ruledChange(material: SeasonMaterial, wanted: WantedChange): AssignmentChange {
  const { withdraw, offer, reason, byHand = false } = wanted;
  const { prepared, present } = openSeason(material);
  const after = [
    ...present.filter((one) => ![...withdraw, ...offer].some((other) => isSame(one, other))),
    ...offer,
  ];
  const checked = offer.map((choice) => {
    if (!prepared.games.has(choice.gameId)) throw notFound('open game');
    if (!prepared.observers.has(choice.observerId)) throw new ObserverNotActive();
    return { choice, broken: rulesBrokenBy(prepared, after, choice) };
  });
  const broken = checked.flatMap((one) => one.broken);
  if (broken.length > 0 && !reason) throw new RulesBroken(broken);
  return {
    withdraw,
    offer: checked.map(({ choice, broken }) =>
      broken.length > 0
        ? {
            ...choice,
            locked: true,
            override: { rules: broken.map(({ rule }) => rule), reason: reason ?? '' },
          }
        : { ...choice, locked: byHand },
    ),
  };
}

/** The season's open games as a planning problem, with the offers and acceptances that stand. */
function openSeason(material: SeasonMaterial): { prepared: PreparedProblem; present: Choice[] } {
  const scope = { week: Math.min(...material.games.map((game) => game.week)), rest: true };
  // Rules do not depend on the spread, so any will do.
  const prepared = prepare(planningProblemOf(material, scope, spreadBeforeData));
  return { prepared, present: presentPlan(material, scope) };
}
