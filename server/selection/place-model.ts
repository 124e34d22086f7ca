import { groupBy } from '../grading/group-by.ts';
import { PackedModel } from '../planning/packed-model.ts';
import type { Candidate, Choice, CrewOfSeason, ProposalProblem } from './proposal-problem.ts';
import { isAlternate, type Slot, slotsOf } from './slots.ts';

/** What one column of the model decides: somebody in one place, or a whole crew in all of them. */
interface Column {
  readonly at: number;
  readonly choices: readonly Choice[];
}

interface PlaceModel {
  readonly model: PackedModel;
  readonly columns: readonly Column[];
}

const officialsIn = ({ choices }: Column) => choices.map(({ officialId }) => officialId);

/**
 * Who works which place, as a linear model with whole columns. A place that stays empty costs more than all that can be
 * gained by leaving it so. What is fixed takes part in every rule and is never moved, whatever a rule says of it.
 * @param which `positions` of all games, or their `alternates`, once the positions are settled
 */
export function placeModel(
  problem: ProposalProblem,
  candidates: readonly Candidate[],
  which: 'positions' | 'alternates',
): PlaceModel {
  const { games, rules, fixed } = problem;
  const model = new PackedModel();
  const columns: Column[] = [];
  const free = candidates.filter((one) => !one.leftOut);
  const dearest = candidates.reduce((most, { cost }) => Math.max(most, cost.total), 0);
  const places = games.reduce((sum, game) => sum + slotsOf(game).length, 0);
  const empty = 1 + dearest * (places + 1);
  const add = (cost: number, choices: readonly Choice[]) => {
    const column = { at: model.column(cost, 0, 1, true), choices };
    columns.push(column);
    return column;
  };
  const most = (upper: number, list: readonly Column[], lower = -Infinity) =>
    model.row(
      lower,
      upper,
      list.map(({ at }) => [at, 1] as const),
    );

  for (const game of games) {
    const settled = fixed.filter(({ gameId }) => gameId === game.id);
    const takenPlaces = new Set(settled.map(({ slot }) => slot));
    const open = slotsOf(game).filter((slot) => !takenPlaces.has(slot));
    const there = new Set(settled.map(({ officialId }) => officialId));
    const here = free.filter((one) => one.game.id === game.id && !there.has(one.official.id));
    const choiceOf = (one: Candidate, slot: Slot): Choice => ({
      gameId: game.id,
      slot,
      position: one.graded.position,
      officialId: one.official.id,
    });
    const lacking = (number: number) => model.column(empty, 0, number);

    if (which === 'alternates') {
      const number = open.filter(isAlternate).length;
      if (number === 0) continue;
      const slot = open.find(isAlternate) as Slot;
      const list = here.map((one) => add(one.cost.total, [choiceOf(one, slot)]));
      model.row(number, number, [...list.map(({ at }) => [at, 1] as const), [lacking(number), 1]]);
      // One alternate of each position, so that they do not all stand in for the same.
      const had = settled.filter((one) => isAlternate(one.slot)).map(({ position }) => position);
      for (const position of game.positions)
        most(
          had.includes(position) ? 0 : 1,
          list.filter(({ choices }) => choices[0]?.position === position),
        );
      continue;
    }
    const wanted = open.filter((slot) => !isAlternate(slot));
    if (wanted.length === 0) continue;
    if (game.wholeCrew) {
      const inPlaces = settled.filter(({ slot }) => !isAlternate(slot));
      const list = problem.crews
        .filter((crew) => inPlaces.every((one) => crew.members.get(one.position) === one.officialId))
        .flatMap((crew) => {
          const members = membersOf(crew, wanted, here);
          if (!members) return [];
          const cost = members.reduce((sum, one) => sum + one.cost.total, 0);
          return [
            add(
              cost,
              members.map((one) => choiceOf(one, one.graded.position)),
            ),
          ];
        });
      const none = model.column(empty * wanted.length, 0, 1);
      model.row(1, 1, [...list.map(({ at }) => [at, 1] as const), [none, 1]]);
      continue;
    }
    for (const slot of wanted) {
      const list = here
        .filter(({ graded }) => graded.position === slot)
        .map((one) => add(one.cost.total, [choiceOf(one, slot)]));
      model.row(1, 1, [...list.map(({ at }) => [at, 1] as const), [lacking(1), 1]]);
    }
  }
  limits();
  return { model, columns };

  function limits() {
    const dayOf = new Map(games.map(({ id, playedOn }) => [id, playedOn]));
    for (const { id } of problem.officials) {
      const list = columns.filter((column) => officialsIn(column).includes(id));
      if (list.length === 0) continue;
      const had = fixed.filter(({ officialId }) => officialId === id);
      most(Math.max(0, rules.mostGamesEach - had.length), list);
      const days = groupBy(list, ({ choices }) => dayOf.get(choices[0]?.gameId ?? ''));
      // A day on which they are settled somewhere is taken; of any other, one game, and one place in it.
      for (const [day, onDay] of days)
        most(had.some(({ gameId }) => dayOf.get(gameId) === day) ? 0 : 1, onDay);
    }
    if (rules.mostOfOneCrew === null) return;
    for (const game of games) {
      if (game.wholeCrew) continue;
      for (const { id } of problem.crews) {
        const members = new Set(
          problem.officials.filter(({ crewIds }) => crewIds.includes(id)).map((official) => official.id),
        );
        const had = fixed.filter((one) => one.gameId === game.id && members.has(one.officialId)).length;
        const list = columns.filter(
          ({ choices }) => choices[0]?.gameId === game.id && members.has(choices[0].officialId),
        );
        if (list.length > 0) most(Math.max(0, rules.mostOfOneCrew - had), list);
      }
    }
  }
}

/** The crew's members for these positions, where each is graded in theirs and no rule leaves them out. */
function membersOf(
  crew: CrewOfSeason,
  wanted: readonly Slot[],
  here: readonly Candidate[],
): Candidate[] | null {
  const members = wanted.flatMap(
    (slot) =>
      here.find(
        ({ graded, official }) =>
          graded.position === slot && crew.members.get(graded.position) === official.id,
      ) ?? [],
  );
  return members.length === wanted.length ? members : null;
}
