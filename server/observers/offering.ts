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
  /** Who watched a game that is over: kept as accepted, nobody is asked. */
  readonly record?: readonly Choice[];
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
    /** Watched already, so that there is nothing to ask. */
    readonly recorded: boolean;
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

/** An offer to go to a game that is over, or somebody noted as having watched one that is still to come. */
export class NotTheTime extends Problem {
  constructor(what: 'over' | 'to come', field: string) {
    super(
      409,
      'Conflict',
      what === 'over'
        ? 'This game is over, so nobody can be sent there. Ask for its film, or note who watched it.'
        : 'This game is still to come, so nobody has watched it. Offer it instead.',
      [
        {
          field,
          message:
            what === 'over'
              ? 'the game is over: send "film" to ask for its film, or send the observer in "record" to note who watched it'
              : 'the game is still to come: send the observer in "offer"',
        },
      ],
    );
  }
}

const isSame = (one: Place, other: Place) =>
  one.gameId === other.gameId && one.observerId === other.observerId;

/**
 * The one rule for offering a game: an active observer, a game on which no report was begun, and none of the planner's
 * rules broken once the whole change is made, unless the coordinator says why. A game that is over is offered on film
 * alone; who watched it is noted, by the same rules. Only asked of a season as it stands
 * while nobody else can change it: see `changeAssignments`.
 * @throws Problem 404 when a game is not open; ObserverNotActive; NotTheTime; RulesBroken
 */
export function ruledChange(material: SeasonMaterial, wanted: WantedChange): AssignmentChange {
  const { withdraw, offer, record = [], reason, byHand = false } = wanted;
  const all = [...offer, ...record];
  const { prepared, present } = openSeason(material);
  const after = [
    ...present.filter((one) => ![...withdraw, ...all].some((other) => isSame(one, other))),
    ...all,
  ];
  const over = new Set(material.games.filter((game) => game.over).map(({ id }) => id));
  const checked = all.map((choice, at) => {
    if (!prepared.games.has(choice.gameId)) throw notFound('open game');
    const recorded = at >= offer.length;
    if (recorded && !over.has(choice.gameId))
      throw new NotTheTime('to come', `body.record.${at - offer.length}.gameId`);
    if (!recorded && over.has(choice.gameId) && choice.mode === 'in person')
      throw new NotTheTime('over', `body.offer.${at}.mode`);
    if (!prepared.observers.has(choice.observerId)) throw new ObserverNotActive();
    return { choice, recorded, broken: rulesBrokenBy(prepared, after, choice) };
  });
  const broken = checked.flatMap((one) => one.broken);
  if (broken.length > 0 && !reason) throw new RulesBroken(broken);
  return {
    withdraw,
    offer: checked.map(({ choice, recorded, broken }) =>
      broken.length > 0
        ? {
            ...choice,
            recorded,
            locked: true,
            override: { rules: broken.map(({ rule }) => rule), reason: reason ?? '' },
          }
        : { ...choice, recorded, locked: byHand || recorded },
    ),
  };
}

/** The season's open games as a planning problem, with the offers and acceptances that stand. */
function openSeason(material: SeasonMaterial): { prepared: PreparedProblem; present: Choice[] } {
  const scope = { week: Math.min(...material.games.map((game) => game.week)), rest: true, over: true };
  // Rules do not depend on the spread, so any will do.
  const prepared = prepare(planningProblemOf(material, scope, spreadBeforeData));
  return { prepared, present: presentPlan(material, scope) };
}
