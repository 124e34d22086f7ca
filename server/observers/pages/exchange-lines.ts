import { rulesBrokenBy } from '../../planning/alternatives.ts';
import { costOf, type PlanCost } from '../../planning/plan-cost.ts';
import type { Choice } from '../../planning/planning-problem.ts';
import type { PreparedProblem } from '../../planning/prepared-problem.ts';
import type { SeasonMaterial } from '../season-material.ts';
import { changeInParts, signed } from './cost-lines.ts';
import { titleOf } from './game-words.ts';

interface ExchangeLine {
  readonly value: string;
  readonly name: string;
  readonly title: string;
  readonly cost: number;
  readonly change: string;
  readonly parts: string;
  readonly broken: readonly string[];
}

/** The two plans' places changed for each other: each observer keeps their way of watching where it is allowed. */
export function exchanged(present: readonly Choice[], one: Choice, other: Choice): Choice[] {
  const rest = present.filter((choice) => choice !== one && choice !== other);
  return [...rest, { ...one, gameId: other.gameId }, { ...other, gameId: one.gameId }];
}

export function exchanges(
  material: SeasonMaterial,
  prepared: PreparedProblem,
  present: readonly Choice[],
  current: Choice,
  name: (id: string) => string,
): ExchangeLine[] {
  const one = present.find(
    (choice) => choice.gameId === current.gameId && choice.observerId === current.observerId,
  );
  if (!one) return [];
  const before = costOf(prepared, present);
  return present
    .filter(
      (other) =>
        other.gameId !== one.gameId &&
        other.observerId !== one.observerId &&
        !present.some((choice) => choice.gameId === other.gameId && choice.observerId === one.observerId) &&
        !present.some((choice) => choice.gameId === one.gameId && choice.observerId === other.observerId),
    )
    .map((other): ExchangeLine => {
      const after = exchanged(present, one, other);
      const cost = costOf(prepared, after);
      const moved = after.slice(-2);
      const change = Object.fromEntries(
        Object.entries(cost).map(([key, value]) => [key, value - before[key as keyof PlanCost]]),
      ) as unknown as PlanCost;
      const game = material.games.find(({ id }) => id === other.gameId);
      return {
        value: `${other.gameId}|${other.observerId}`,
        name: name(other.observerId),
        title: game ? titleOf(game) : '',
        cost: change.total,
        change: signed(change.total),
        parts: changeInParts(change),
        broken: moved.flatMap((choice) =>
          rulesBrokenBy(prepared, after, choice).map(({ why }) => `${name(choice.observerId)} ${why}`),
        ),
      };
    })
    .sort((a, b) => Math.min(1, a.broken.length) - Math.min(1, b.broken.length) || a.cost - b.cost);
}
