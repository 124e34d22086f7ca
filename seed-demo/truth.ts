import { type DutyCategory, dutyCategories } from '../server/duties/duty.ts';
import type { Position } from '../server/football/positions.ts';
import type { DemoConference } from './conference.ts';
import type { Draws } from './draws.ts';

/**
 * What the demo season was made from, so that tests and simulations can hold results against it. All effects are
 * on the logit scale of missing one opportunity: an official's skill lowers it, an observer's severity raises it.
 */
export interface DemoTruth {
  skill: { email: string; byCategory: Record<DutyCategory, number> }[];
  severity: { email: string; severity: number }[];
  /** Chance that an average official misses one opportunity in the eyes of an average observer. */
  baseMissRate: Record<string, number>;
  planted: PlantedMiss[];
  /** Missed often in one situation only. */
  plantedInSituation: PlantedInSituation[];
  /** Missed often by everybody of one crew. */
  plantedInCrew: PlantedInCrew[];
}

/** A duty that one official really does miss far more often than others. */
interface PlantedMiss {
  email: string;
  position: Position;
  dutyKey: string;
  /** Chance of a miss where an average official has `baseMissRate`. */
  missRate: number;
  /** The last week in which it holds: the official was told and mended it. Null: all season. */
  untilWeek: number | null;
}

interface PlantedInSituation {
  email: string;
  position: Position;
  dutyKey: string;
  /** Key of a situation cut (`server/patterns/situation-cuts.ts`). */
  situation: string;
  /** Chance of a miss in that situation. */
  missRate: number;
}

interface PlantedInCrew {
  crew: string;
  dutyKey: string;
  missRate: number;
}

export const logit = (p: number) => Math.log(p / (1 - p));

const skillDeviation = 0.35;
const categoryDeviation = 0.2;
const severityDeviation = 0.25;
/** One observer is much stricter than the rest. */
const strictestSeverity = 0.6;

export function drawSkill(conference: DemoConference, draws: Draws): DemoTruth['skill'] {
  return conference.officials.map(({ email }) => {
    const overall = draws.normal(0, skillDeviation);
    const byCategory = Object.fromEntries(
      dutyCategories.map((category) => [category, overall + draws.normal(0, categoryDeviation)]),
    ) as Record<DutyCategory, number>;
    return { email, byCategory };
  });
}

export function drawSeverity(conference: DemoConference, draws: Draws): DemoTruth['severity'] {
  return conference.observers.map(({ email }, at) => ({
    email,
    severity: at === 0 ? strictestSeverity : draws.normal(0, severityDeviation),
  }));
}

/** Opportunities of one official (in one position) for one duty over the season. */
export interface OpportunityTally {
  email: string;
  position: Position;
  dutyKey: string;
  opportunities: number;
  games: number;
}

/** How a duty fails: by mechanics, by a flag not thrown, by a flag that should have stayed down, by a wrong ruling. */
export type Failure = 'mechanics' | 'missed foul' | 'wrong flag' | 'wrong ruling';

/** How often an average game has each; a wrong flag is a share of the flags instead. Common practice, no source. */
const perGame: Readonly<Record<Exclude<Failure, 'wrong flag'>, number>> = {
  mechanics: 20,
  'missed foul': 3.4,
  'wrong ruling': 1.6,
};
const wrongFlagShare = 0.07;
/** The share of misses grows no further, however rare a duty is. */
const mostOften = 0.12;

/**
 * Base miss rates: frequent duties are second nature, rare ones are missed more often. The scale of each kind of
 * failure is set so that an average game has as many as it should.
 */
export function setBaseMissRates(
  tallies: readonly OpportunityTally[],
  games: number,
  failureOf: (dutyKey: string) => Failure,
): Record<string, number> {
  const counts = new Map<string, number>();
  for (const { dutyKey, opportunities } of tallies) {
    counts.set(dutyKey, (counts.get(dutyKey) ?? 0) + opportunities / games);
  }
  const rates: Record<string, number> = {};
  for (const failure of ['mechanics', 'missed foul', 'wrong ruling'] as const) {
    const own = [...counts].filter(([key]) => failureOf(key) === failure);
    const rateAt = (scale: number, count: number) => Math.min(mostOften, scale * count ** -0.6);
    const total = (scale: number) => own.reduce((sum, [, count]) => sum + count * rateAt(scale, count), 0);
    let low = 0;
    let high = 2;
    for (let step = 0; step < 60; step += 1) {
      const middle = (low + high) / 2;
      if (total(middle) < perGame[failure]) low = middle;
      else high = middle;
    }
    for (const [key, count] of own) rates[key] = rateAt(low, count);
  }
  for (const key of counts.keys()) if (failureOf(key) === 'wrong flag') rates[key] = wrongFlagShare;
  return rates;
}

/** How many repeat misses are planted, and how many of them are mended after week 6. */
const plantedCount = 8;
const mendedCount = 2;
const mendedAfterWeek = 6;

/** Plants repeat misses where an official has chances enough for them to show: no official and no duty twice. */
export function plantMisses(tallies: readonly OpportunityTally[], draws: Draws): PlantedMiss[] {
  const planted: PlantedMiss[] = [];
  const fitting = tallies.filter(
    ({ opportunities, games }) => games >= 5 && opportunities >= 30 && opportunities <= 150,
  );
  for (const candidate of draws.shuffled(fitting)) {
    if (planted.length === plantedCount) break;
    const { email, position, dutyKey } = candidate;
    if (planted.some((other) => other.email === email || other.dutyKey === dutyKey)) continue;
    planted.push({
      email,
      position,
      dutyKey,
      missRate: draws.pick([0.25, 0.3, 0.35]),
      untilWeek: planted.length < mendedCount ? mendedAfterWeek : null,
    });
  }
  return planted;
}

/** Plants a duty that one official misses late in halves only: one that comes up on many plays, so that enough are late. */
export function plantInSituation(
  tallies: readonly OpportunityTally[],
  taken: readonly PlantedMiss[],
  draws: Draws,
): PlantedInSituation[] {
  const fitting = tallies.filter(
    ({ email, dutyKey, games, opportunities }) =>
      games >= 6 &&
      opportunities >= 250 &&
      !taken.some((miss) => miss.email === email || miss.dutyKey === dutyKey),
  );
  const [chosen] = draws.shuffled(fitting);
  if (chosen === undefined) return [];
  const { email, position, dutyKey } = chosen;
  return [{ email, position, dutyKey, situation: 'late in halves', missRate: 0.4 }];
}

/** Plants a duty that a whole crew has let slip. */
export function plantInCrew(
  crews: readonly string[],
  duties: readonly string[],
  taken: readonly PlantedMiss[],
  draws: Draws,
): PlantedInCrew[] {
  const free = duties.filter((key) => !taken.some((miss) => miss.dutyKey === key));
  if (free.length === 0) return [];
  return [{ crew: draws.pick(crews), dutyKey: draws.pick(free), missRate: 0.1 }];
}
