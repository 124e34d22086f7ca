import { type Alternative, alternatives, rulesBrokenBy } from '../../planning/alternatives.ts';
import { distanceInWords } from '../../planning/distance.ts';
import { costOf, type PlanCost } from '../../planning/plan-cost.ts';
import type { Choice } from '../../planning/planning-problem.ts';
import { type PreparedProblem, prepare } from '../../planning/prepared-problem.ts';
import type { Spread } from '../../planning/prices.ts';
import { type BrokenRule, inWords } from '../../planning/rules.ts';
import type { Relief } from '../../planning/unfilled.ts';
import { meanErrorUnder } from '../coverage.ts';
import type { PlanAnswer } from '../planner.ts';
import { type Assignment, type SeasonGame, type SeasonMaterial, stands } from '../season-material.ts';
import { gamesInScope, isSettled, type PlanScope, presentPlan, problemOf } from '../season-problem.ts';

/** One assignment or suggested choice as a line under its game. */
export interface PlaceLine {
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

export interface GameLine {
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
  readonly reported: boolean;
  readonly places: readonly PlaceLine[];
  readonly lacking: number;
  readonly declined: readonly string[];
  readonly suggestion: readonly PlaceLine[] | null;
  readonly changed: boolean;
  readonly takenOff: readonly string[];
  readonly unfilled: UnfilledLine | null;
}

export interface UnfilledLine {
  readonly lacking: number;
  readonly sentence: string;
  readonly ways: readonly { readonly text: string; readonly href: string }[];
}

export interface CostLine {
  readonly label: string;
  readonly present: number;
  readonly suggested: number | null;
}

export interface GridRow {
  readonly observerId: string;
  readonly name: string;
  readonly load: number;
  readonly cells: readonly GridCell[];
}

export interface GridCell {
  readonly gameId: string;
  /** "is here", "offered here", "can go" or the rule in the way. */
  readonly state: 'assigned' | 'free' | 'blocked' | 'closed';
  readonly text: string;
  readonly distance: string;
  readonly why: string;
}

export interface PlanView {
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
  } | null;
  readonly grid: {
    readonly games: readonly { readonly id: string; readonly label: string }[];
    readonly rows: readonly GridRow[];
  } | null;
  readonly open: number;
  readonly untold: number;
  readonly unanswered: number;
}

/** Columns a week's grid can have and still be read. */
const widestGrid = 12;

export function titleOf(game: SeasonGame): string {
  return `${game.visitor.name} at ${game.home.name}`;
}

const nameIn = (material: SeasonMaterial) => {
  const names = new Map(material.observers.map(({ id, name }) => [id, name]));
  return (id: string) => names.get(id) ?? 'an observer no longer active';
};

export function wantedOn(game: SeasonGame, material: SeasonMaterial): number {
  return game.observersWanted ?? material.settings.observersPerGame;
}

const choiceText = (choice: Choice) => `${choice.gameId}|${choice.observerId}|${choice.mode}`;

/** How often a game's crew is assigned an observer over the season, in words. */
function crewSeen(material: SeasonMaterial, game: SeasonGame): string {
  if (!game.crew) return '';
  const games = new Set(material.games.filter(({ crew }) => crew?.id === game.crew?.id).map(({ id }) => id));
  const seen = material.assignments.filter(
    (one) => stands(one) && games.has(one.gameId) && one.gameId !== game.id,
  );
  if (seen.length === 0) return 'not seen in other games';
  const observers = new Set(seen.map(({ observerId }) => observerId)).size;
  return `seen ${seen.length} ${seen.length === 1 ? 'time' : 'times'} besides, by ${observers} ${observers === 1 ? 'observer' : 'observers'}`;
}

function reliefInWords(relief: Relief, name: (id: string) => string): string {
  const cost = Math.round(relief.extraCost);
  const others =
    relief.otherChanges === 0
      ? ''
      : `, with ${relief.otherChanges} other ${relief.otherChanges === 1 ? 'assignment' : 'assignments'} changed`;
  const why = relief.broken.map((broken) => broken.why).join('; ');
  return `${name(relief.choice.observerId)} ${inWords(relief.choice.mode)} (${why}), at ${cost >= 0 ? `${cost} mi more` : `${-cost} mi less`}${others}`;
}

/** Why a game stays unfilled and what looking away from each rule would give, as sentences. */
export function unfilledLines(answer: PlanAnswer, name: (id: string) => string): Map<string, UnfilledLine> {
  const lines = new Map<string, UnfilledLine>();
  for (const { gameId, lacking, obstacles, together, explained } of answer.unfilled) {
    const href = (relief: Relief) =>
      `/observers/games/${gameId}/place?observer=${relief.choice.observerId}&how=${encodeURIComponent(relief.choice.mode)}`;
    const rules = obstacles.map(({ rule }) => rule);
    const sentence = !explained
      ? 'Nobody can be sent within the rules; there was no time left to find out which rules are in the way.'
      : rules.length === 0
        ? 'There are fewer observers than this game wants.'
        : `In the way: ${rules.join(' and ')}.`;
    const ways = obstacles.map(({ rule, relief }) => ({
      text: relief
        ? `Setting aside the ${rule}: ${reliefInWords(relief, name)}.`
        : `Setting aside the ${rule} alone would not fill the game.`,
      href: relief ? href(relief) : '',
    }));
    for (const relief of together)
      ways.push({
        text: `Setting aside ${relief.rules.join(' and ')} together: ${reliefInWords(relief, name)}.`,
        href: href(relief),
      });
    lines.set(gameId, { lacking, sentence, ways });
  }
  return lines;
}

export interface PlanPage {
  readonly material: SeasonMaterial;
  readonly scope: PlanScope;
  readonly spread: Spread;
  readonly answer: PlanAnswer | null;
}

/** Everything the week page shows, ready for the template. */
export function planView({ material, scope, spread, answer }: PlanPage): PlanView {
  const prepared = prepare(problemOf(material, scope, spread));
  const present = presentPlan(material, scope);
  const name = nameIn(material);
  const unfilled = answer ? unfilledLines(answer, name) : new Map<string, UnfilledLine>();
  const inScope = new Set(gamesInScope(material, scope).map(({ id }) => id));
  const shown = material.games.filter((game) =>
    scope.rest ? game.week >= scope.week && !game.reported : game.week === scope.week,
  );
  const games = shown.map((game) => gameLine(game));
  const presentCost = costOf(prepared, present);
  const suggestedCost = answer ? costOf(prepared, answer.plan.choices) : null;
  const lackingIn = (week: number) =>
    material.games
      .filter((game) => game.week === week && !game.reported)
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
          gap: `${(100 * answer.plan.gap).toFixed(1)} %`,
          proven: answer.plan.proven,
          seconds: answer.plan.seconds.toFixed(1),
          changes: games.filter((game) => game.changed).length,
          separate: answer.plan.separate.length,
        }
      : null,
    grid: scope.rest || shown.length > widestGrid || inScope.size === 0 ? null : grid(),
    open: inScope.size,
    untold: count((one) => one.untold),
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
      reported: game.reported,
      places: standing.map((assignment) => presentLine(game, assignment)),
      lacking: game.reported ? 0 : Math.max(0, wantedOn(game, material) - standing.length),
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

const shortNames: Readonly<Record<string, string>> = {
  'way of watching': 'film only',
  availability: 'away',
  'declared conflict': 'conflict',
  'travel limit': 'too far',
  'one place at a time': 'elsewhere',
  'weekly limit': 'week full',
  'season limit': 'season full',
};

function shortest(broken: readonly BrokenRule[]): string {
  const [first] = broken;
  return first ? (shortNames[first.rule] ?? first.rule) : '';
}

const costLabels: readonly (readonly [keyof PlanCost, string])[] = [
  ['travel', 'Travel, one way'],
  ['film', 'Watching on film'],
  ['repeatedPairs', 'Same observer, same crew again'],
  ['load', 'Uneven load'],
  ['information', 'Gain for the grades'],
  ['separateGroups', 'Crews not comparable'],
  ['missedCrewTargets', "Crews short of the season's target"],
];

function costLines(present: PlanCost, suggested: PlanCost | null): CostLine[] {
  const lines = costLabels
    .map(([key, label]) => ({ label, present: present[key], suggested: suggested ? suggested[key] : null }))
    .filter((line) => line.present !== 0 || (line.suggested ?? 0) !== 0);
  const withoutUnfilled = (cost: PlanCost) => cost.total - cost.unfilled;
  return [
    ...lines,
    {
      label: 'Together',
      present: withoutUnfilled(present),
      suggested: suggested ? withoutUnfilled(suggested) : null,
    },
  ];
}

/** One row of the page on which a place is filled by hand. */
export interface AlternativeLine {
  readonly value: string;
  readonly observerId: string;
  readonly name: string;
  readonly how: string;
  readonly distance: string;
  /** In whole miles with its sign. */
  readonly change: string;
  readonly parts: string;
  readonly broken: readonly string[];
  readonly seasonGames: number;
  readonly gamesWithCrew: number;
  readonly checked: boolean;
}

const partNames: readonly (readonly [keyof PlanCost, string])[] = [
  ['travel', 'travel'],
  ['film', 'film'],
  ['repeatedPairs', 'repeat'],
  ['load', 'load'],
  ['information', 'gain'],
  ['separateGroups', 'comparable'],
  ['missedCrewTargets', 'target'],
];

export function signed(miles: number): string {
  const whole = Math.round(miles);
  return whole === 0 ? '0' : whole > 0 ? `+${whole}` : `−${-whole}`;
}

function changeInParts(change: PlanCost): string {
  return partNames
    .filter(([key]) => Math.round(change[key]) !== 0)
    .map(([key, label]) => `${label} ${signed(change[key])}`)
    .join(', ');
}

export interface PlaceQuestion {
  readonly gameId: string;
  /** Whose place it is, or null for an empty one. */
  readonly replacing: string | null;
  readonly picked: string | null;
}

/** The alternatives for one place with their costs, for choosing by hand. */
export function placeView(material: SeasonMaterial, spread: Spread, question: PlaceQuestion) {
  const game = material.games.find(({ id }) => id === question.gameId);
  if (!game) return null;
  const scope = { week: game.week, rest: false };
  const prepared = prepare(problemOf(material, scope, spread));
  if (!prepared.games.has(game.id)) return { game, closed: true as const };
  const present = presentPlan(material, scope);
  const here = present.filter((choice) => choice.gameId === game.id);
  // A game that has all it wants from one observer: another can only come in that one's place.
  const onlyOne = here.length === 1 && here.length >= wantedOn(game, material) ? here[0]!.observerId : null;
  const replacing = question.replacing ?? onlyOne;
  const list = alternatives(prepared, present, game.id, replacing).filter(
    ({ choice }) => !here.some((one) => one.observerId === choice.observerId && one.mode === choice.mode),
  );
  const name = nameIn(material);
  const filled = (alternative: Alternative) => alternative.change.total - alternative.change.unfilled;
  const lines = list.map(
    (alternative): AlternativeLine => ({
      value: `${alternative.choice.observerId}|${alternative.choice.mode}`,
      observerId: alternative.choice.observerId,
      name: name(alternative.choice.observerId),
      how: inWords(alternative.choice.mode),
      distance:
        alternative.choice.mode === 'film'
          ? 'no travel'
          : alternative.miles === null
            ? 'unknown'
            : distanceInWords(alternative.miles),
      change: signed(filled(alternative)),
      parts: changeInParts(alternative.change),
      broken: alternative.broken.map(({ why }) => why),
      seasonGames: alternative.seasonGames,
      gamesWithCrew: alternative.gamesWithCrew,
      checked: question.picked === `${alternative.choice.observerId}|${alternative.choice.mode}`,
    }),
  );
  const current = present.find((choice) => choice.gameId === game.id && choice.observerId === replacing);
  return {
    closed: false as const,
    game,
    replacing,
    more: current === undefined && here.length >= wantedOn(game, material),
    prepared,
    present,
    current: current ? { ...current, name: name(current.observerId), how: inWords(current.mode) } : null,
    keeping: lines.filter((line) => line.broken.length === 0),
    breaking: lines.filter((line) => line.broken.length > 0),
    exchanges: current ? exchanges(material, prepared, present, current, name) : [],
  };
}

export interface ExchangeLine {
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

function exchanges(
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
