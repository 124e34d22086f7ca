import { rulesBrokenBy } from '../../planning/alternatives.ts';
import { distanceInWords } from '../../planning/distance.ts';
import { costOf } from '../../planning/plan-cost.ts';
import type { Choice } from '../../planning/planning-problem.ts';
import { prepare } from '../../planning/prepared-problem.ts';
import type { Spread } from '../../planning/prices.ts';
import { inWords } from '../../planning/rules.ts';
import { number } from '../../web/format.ts';
import { meanErrorUnder } from '../coverage.ts';
import type { PlanAnswer } from '../planner.ts';
import {
  type Assignment,
  hasPassed,
  type SeasonGame,
  type SeasonMaterial,
  stands,
} from '../season-material.ts';
import {
  gamesInScope,
  isSettled,
  type PlanScope,
  planningProblemOf,
  presentPlan,
} from '../season-problem.ts';
import { type CostLine, costLines } from './cost-lines.ts';
import { crewSeen, nameIn, shortest, titleOf, wantedOn } from './game-words.ts';
import { type UnfilledLine, unfilledLines } from './unfilled-lines.ts';

/** One assignment or suggested choice as a line under its game. */
interface PlaceLine {
  readonly observerId: string;
  readonly name: string;
  readonly how: string;
  readonly distance: string | null;
  readonly answer: string | null;
  readonly assignmentId: string | null;
  readonly locked: boolean;
  readonly settled: boolean;
  readonly warnings: readonly string[];
  readonly overrideReason: string | null;
  /** In a suggestion: not assigned now. */
  readonly isNew: boolean;
  readonly value: string;
}

interface GameLine {
  readonly id: string;
  readonly title: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly venue: string;
  readonly crew: string | null;
  readonly crewSeen: string;
  readonly wanted: number;
  readonly filmAllowed: boolean;
  readonly over: boolean;
  readonly reported: boolean;
  readonly places: readonly PlaceLine[];
  readonly lacking: number;
  readonly declined: readonly string[];
  readonly suggestion: readonly PlaceLine[] | null;
  readonly changed: boolean;
  readonly takenOff: readonly string[];
  readonly unfilled: UnfilledLine | null;
}

interface GridRow {
  readonly observerId: string;
  readonly name: string;
  readonly load: number;
  readonly cells: readonly GridCell[];
}

interface GridCell {
  readonly gameId: string;
  /** "is here", "offered here", "can go" or the rule in the way. */
  readonly state: 'assigned' | 'free' | 'blocked' | 'closed';
  readonly text: string;
  readonly distance: string;
  readonly why: string;
}

interface PlanView {
  readonly week: number;
  readonly rest: boolean;
  readonly weeks: readonly { readonly week: number; readonly here: boolean; readonly lacking: number }[];
  readonly games: readonly GameLine[];
  readonly costs: readonly CostLine[];
  /** Mean standard error of all officials at the season's end, in grade points. */
  readonly meanError: { readonly present: number | null; readonly suggested: number | null };
  readonly suggested: {
    readonly best: boolean;
    readonly gap: string;
    readonly proven: boolean;
    readonly seconds: string;
    readonly changes: number;
    readonly separate: number;
    /** Offers that wait for an answer and would be taken back: who, on which game. */
    readonly takesBack: readonly string[];
  } | null;
  readonly grid: {
    readonly games: readonly { readonly id: string; readonly label: string }[];
    readonly rows: readonly GridRow[];
  } | null;
  readonly open: number;
  readonly unanswered: number;
}

/** Columns a week's grid can have and still be read. */
const widestGrid = 12;

const choiceText = (choice: Choice) => `${choice.gameId}|${choice.observerId}|${choice.mode}`;

interface PlanPage {
  readonly material: SeasonMaterial;
  readonly scope: PlanScope;
  readonly spread: Spread;
  readonly answer: PlanAnswer | null;
}

/** Everything the week page shows, ready for the template. */
export function planView({ material, scope, spread, answer }: PlanPage): PlanView {
  const prepared = prepare(planningProblemOf(material, scope, spread));
  const present = presentPlan(material, scope);
  const name = nameIn(material);
  const unfilled = answer ? unfilledLines(answer, name) : new Map<string, UnfilledLine>();
  const inScope = new Set(gamesInScope(material, scope).map(({ id }) => id));
  const shown = material.games.filter((game) =>
    scope.rest ? inScope.has(game.id) : game.week === scope.week,
  );
  const games = shown.map((game) => gameLine(game));
  const presentCost = costOf(prepared, present);
  const suggestedCost = answer ? costOf(prepared, answer.plan.choices) : null;
  const lackingIn = (week: number) =>
    material.games
      .filter((game) => game.week === week && !game.reported && !game.over)
      .reduce(
        (sum, game) =>
          sum +
          Math.max(
            0,
            wantedOn(game, material) -
              material.assignments.filter((one) => one.gameId === game.id && stands(one)).length,
          ),
        0,
      );
  return {
    week: scope.week,
    rest: scope.rest,
    weeks: [...new Set(material.games.map((game) => game.week))].map((week) => ({
      week,
      here: week === scope.week,
      lacking: lackingIn(week),
    })),
    games,
    costs: costLines(presentCost, suggestedCost),
    meanError: {
      present: meanErrorUnder(material, material.assignments.filter(stands), spread),
      suggested: answer
        ? meanErrorUnder(
            material,
            [
              ...material.assignments.filter((one) => stands(one) && !inScope.has(one.gameId)),
              ...answer.plan.choices,
            ],
            spread,
          )
        : null,
    },
    suggested: answer
      ? {
          best: answer.plan.gap < 0.0005,
          gap: `${number(100 * answer.plan.gap)} %`,
          proven: answer.plan.proven,
          seconds: number(answer.plan.seconds),
          changes: games.filter((game) => game.changed).length,
          separate: answer.plan.separate.length,
          takesBack: games.flatMap(({ title, takenOff }) => takenOff.map((who) => `${who}, ${title}`)),
        }
      : null,
    grid: scope.rest || shown.length > widestGrid || inScope.size === 0 ? null : grid(),
    open: inScope.size,
    unanswered: count((one) => one.answer === 'offered'),
  };

  function count(of: (assignment: Assignment) => boolean): number {
    return material.assignments.filter((one) => inScope.has(one.gameId) && of(one)).length;
  }

  function gameLine(game: SeasonGame): GameLine {
    const mine = material.assignments.filter((one) => one.gameId === game.id);
    const standing = mine.filter(stands);
    const choices =
      answer && inScope.has(game.id) ? answer.plan.choices.filter((one) => one.gameId === game.id) : null;
    const isHere = (choice: Choice) =>
      standing.some((one) => one.observerId === choice.observerId && one.mode === choice.mode);
    const goes = standing.filter(
      (one) =>
        choices !== null &&
        !choices.some((choice) => choice.observerId === one.observerId && choice.mode === one.mode),
    );
    return {
      id: game.id,
      title: titleOf(game),
      week: game.week,
      kickoff: game.kickoff,
      timeZone: game.timeZone,
      venue: game.venue,
      crew: game.crew?.name ?? null,
      crewSeen: crewSeen(material, game),
      wanted: wantedOn(game, material),
      filmAllowed: game.filmAllowed,
      over: game.over,
      reported: game.reported,
      places: standing.map((assignment) => presentLine(game, assignment)),
      lacking: game.reported
        ? 0
        : Math.max(0, wantedOn(game, material) - standing.filter((one) => !hasPassed(one, game)).length),
      declined: mine
        .filter((one) => one.answer === 'declined' && !one.withdrawn)
        .map((one) => name(one.observerId) + (one.declineReason ? ` (${one.declineReason})` : '')),
      suggestion: choices === null ? null : choices.map((choice) => suggestedLine(choice, !isHere(choice))),
      changed: choices !== null && (goes.length > 0 || choices.some((choice) => !isHere(choice))),
      takenOff: goes.map((one) => `${name(one.observerId)} ${inWords(one.mode)}`),
      unfilled: unfilled.get(game.id) ?? null,
    };
  }

  function presentLine(game: SeasonGame, assignment: Assignment): PlaceLine {
    const choice = { gameId: game.id, observerId: assignment.observerId, mode: assignment.mode };
    const known = inScope.has(game.id) && prepared.candidate(choice);
    return {
      ...suggestedLine(choice, false),
      answer: assignment.reportState ? `report ${assignment.reportState}` : assignment.answer,
      assignmentId: assignment.id,
      locked: assignment.locked,
      settled: isSettled(assignment),
      warnings: known ? rulesBrokenBy(prepared, present, choice).map(({ why }) => why) : [],
      overrideReason: assignment.overrideReason,
    };
  }

  function suggestedLine(choice: Choice, isNew: boolean): PlaceLine {
    const miles = prepared.candidate(choice)?.miles ?? null;
    return {
      observerId: choice.observerId,
      name: name(choice.observerId),
      how: inWords(choice.mode),
      distance: choice.mode === 'in person' && miles !== null ? distanceInWords(miles) : null,
      answer: null,
      assignmentId: null,
      locked: false,
      settled: false,
      warnings: [],
      overrideReason: null,
      isNew,
      value: choiceText(choice),
    };
  }

  function grid() {
    const columns = shown.filter((game) => inScope.has(game.id));
    return {
      games: columns.map((game) => ({ id: game.id, label: titleOf(game) })),
      rows: material.observers.map(
        (observer): GridRow => ({
          observerId: observer.id,
          name: observer.name,
          load: material.assignments.filter((one) => one.observerId === observer.id && stands(one)).length,
          cells: columns.map((game) => cell(game, observer.id)),
        }),
      ),
    };
  }

  function cell(game: SeasonGame, observerId: string): GridCell {
    const ways = (['in person', 'film'] as const).map((mode) => {
      const choice = { gameId: game.id, observerId, mode };
      return {
        mode,
        miles: prepared.candidate(choice)?.miles ?? null,
        broken: rulesBrokenBy(prepared, present, choice),
      };
    });
    const [inPerson, onFilm] = ways;
    const miles = inPerson?.miles ?? null;
    const distance = miles === null ? 'distance unknown' : `${Math.round(miles)} mi`;
    const line = (state: GridCell['state'], text: string, why = ''): GridCell => ({
      gameId: game.id,
      state,
      text,
      distance,
      why,
    });
    const here = present.find((choice) => choice.gameId === game.id && choice.observerId === observerId);
    if (here) return line('assigned', inWords(here.mode));
    const why = (inPerson?.broken ?? []).map((broken) => broken.why).join('; ');
    if (inPerson?.broken.length === 0) return line('free', 'can go');
    if (onFilm?.broken.length === 0) return line('free', 'film only', why);
    return line('blocked', shortest(inPerson?.broken ?? []), why);
  }
}
