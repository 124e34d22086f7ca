import { Draws } from '../../../seed-demo/draws.ts';
import type { LoggedPlay } from '../../../server/duties/logged-play.ts';
import type { MarkedFinding } from '../../../server/duties/marks-of-cells.ts';
import {
  compileRubric,
  forEachGameOpportunity,
  forEachOpportunity,
  fullCrew,
} from '../../../server/duties/opportunities.ts';
import { countOpportunities } from '../../../server/duties/opportunity-counts.ts';
import { startingRubric } from '../../../server/duties/starting-rubric.ts';
import { type Position, positions } from '../../../server/football/positions.ts';
import { gradeWholeSeason } from '../../../server/grading/season-model.ts';
import type { GradedGame } from '../../../server/grading/season-rows.ts';
import { demoSeason } from '../../support/demo-season.ts';
import type { Habit } from './thin-logs.ts';

const rubric = compileRubric(startingRubric);
const crew = fullCrew(8);
const weightOf = new Map(startingRubric.map(({ key, weight }) => [key, weight]));
/** Spreads on the logit scale of a miss. */
const spread = { skill: 0.35, severity: 0.3, game: 0.15 };
const crews = 8;
const expit = (x: number) => 1 / (1 + Math.exp(-x));
const logit = (p: number) => Math.log(p / (1 - p));

/** One thing that an official really owed on a play. */
interface TrueChance {
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
}

interface FullLog {
  readonly plays: readonly LoggedPlay[];
  readonly chances: readonly TrueChance[];
}

export interface Truth {
  readonly logs: readonly FullLog[];
  /** Chance that an average official misses a duty in the eyes of an average observer. */
  readonly missRate: (dutyKey: string) => number;
  /** How often each position owes each duty, over all logs: what a grade is a grade of. */
  readonly owed: ReadonlyMap<Position, ReadonlyMap<string, number>>;
}

/** Full logs of invented games, with what everybody owed on them and how often average officials miss it. */
export function makeTruth(games: number): Truth {
  const season = demoSeason();
  const owed = new Map(positions.map((position) => [position, new Map<string, number>()]));
  const logs = [...season.plays.values()].slice(0, games).map((log): FullLog => {
    const plays = log.map(({ number, play }) => ({ id: `${number}`, play }));
    const chances: TrueChance[] = [];
    for (const { id, play } of plays)
      forEachOpportunity(play, crew, rubric, (position, { key }) =>
        chances.push({ playId: id, position, dutyKey: key }),
      );
    forEachGameOpportunity(crew, rubric, (position, { key }) =>
      chances.push({ playId: plays[0]!.id, position, dutyKey: key }),
    );
    for (const { position, dutyKey } of chances) {
      const duties = owed.get(position)!;
      duties.set(dutyKey, (duties.get(dutyKey) ?? 0) + 1);
    }
    return { plays, chances };
  });
  return { logs, owed, missRate: (key) => season.truth.baseMissRate[key] ?? 0.04 };
}

/** What the thinned logs of one habit gave. */
export interface HabitResult {
  /** Misses that count, and how many the truth expects of the chances that count. */
  counted: number;
  expected: number;
  /** Chances that count, and those of the full logs; misses of the full logs. */
  chances: number;
  fullChances: number;
  fullMisses: number;
  fullExpected: number;
}

export interface SeasonsResult {
  readonly habits: ReadonlyMap<string, HabitResult>;
  /** Share of adjusted grades whose 90 % interval holds the truth, season by season. */
  readonly coverage: readonly number[];
}

/**
 * Grades seasons whose observers each have one habit. The truth of an official is what a neutral observer would give
 * them over everything that their position owes in the full logs.
 */
export function gradeThinnedSeasons(
  truth: Truth,
  habits: Readonly<Record<string, Habit>>,
  { seasons, games, least, seed }: { seasons: number; games: number; least: number; seed: number },
): SeasonsResult {
  const found = new Map(
    Object.keys(habits).map((name): [string, HabitResult] => [
      name,
      { counted: 0, expected: 0, chances: 0, fullChances: 0, fullMisses: 0, fullExpected: 0 },
    ]),
  );
  const coverage: number[] = [];
  for (let s = 0; s < seasons; s += 1) {
    const draws = new Draws(seed + s, 'thinned season');
    const names = Object.keys(habits);
    const observers = names.flatMap((habit) =>
      [1, 2].map((n) => ({ name: `${habit} ${n}`, habit, severity: draws.normal(0, spread.severity) })),
    );
    const skill = new Map<string, number>();
    for (let c = 0; c < crews; c += 1)
      for (const position of positions) skill.set(`${c} ${position}`, draws.normal(0, spread.skill));
    const rows: GradedGame[] = [];
    for (let g = 0; g < games; g += 1) {
      const log = truth.logs[(g + s) % truth.logs.length]!;
      const hardness = draws.normal(0, spread.game);
      const watching = draws.shuffled(observers).slice(0, draws.chance(0.3) ? 2 : 1);
      const performed = log.chances.map(() => logit(draws.unit()));
      for (const observer of watching) {
        const chanceToMiss = ({ position, dutyKey }: Pick<TrueChance, 'position' | 'dutyKey'>) =>
          expit(
            logit(truth.missRate(dutyKey)) -
              skill.get(`${g % crews} ${position}`)! +
              observer.severity +
              hardness,
          );
        const marks: MarkedFinding[] = [];
        log.chances.forEach((chance, at) => {
          if (performed[at]! < logit(chanceToMiss(chance))) marks.push({ ...chance, finding: 'missed' });
        });
        const marked = new Set(marks.map(({ playId }) => playId));
        const thin = habits[observer.habit]!(log.plays, marked, draws);
        const inLog = new Set(thin.map(({ id }) => id));
        const { counts } = countOpportunities(
          thin,
          crew,
          rubric,
          marks.filter(({ playId }) => inLog.has(playId)),
          { decidedShareLeast: least },
        );
        const result = found.get(observer.habit)!;
        result.fullChances += log.chances.length;
        result.fullMisses += marks.length;
        for (const chance of log.chances) result.fullExpected += chanceToMiss(chance);
        for (const row of counts) {
          result.chances += row.opportunities;
          result.counted += row.notMet;
          result.expected += row.opportunities * chanceToMiss(row);
        }
        for (const position of positions) {
          rows.push({
            official: `${g % crews} ${position}`,
            position,
            game: `${g}`,
            observer: observer.name,
            counts: counts
              .filter((row) => row.position === position && row.opportunities > 0)
              .map(({ dutyKey, opportunities, notMet }) => ({
                duty: dutyKey,
                weight: weightOf.get(dutyKey)!,
                opportunities,
                met: opportunities - notMet,
              })),
          });
        }
      }
    }
    const { standings } = gradeWholeSeason(rows, {
      ...{ minimumGames: 3, minimumOpportunities: 100, top: 2, seed: seed + s, draws: 200 },
    });
    const inside = standings.filter(({ official, position, adjusted }) => {
      const real = trueGrade(truth, position as Position, skill.get(official)!);
      return adjusted && adjusted.low <= real && real <= adjusted.high;
    });
    coverage.push(inside.length / standings.length);
  }
  return { habits: found, coverage };
}

/** Over everything that a position owes, by a neutral observer in ordinary games. */
function trueGrade(truth: Truth, position: Position, skill: number): number {
  let lost = 0;
  let weight = 0;
  for (const [dutyKey, times] of truth.owed.get(position)!) {
    const each = weightOf.get(dutyKey)! * times;
    weight += each;
    lost += each * expit(logit(truth.missRate(dutyKey)) - skill);
  }
  return 100 * (1 - lost / weight);
}
