import { Draws } from '../../../seed-demo/draws.ts';
import { type Position, positions } from '../../../server/football/positions.ts';
import type { ClipMark } from '../../../server/grading/clip-marks.ts';
import type { DutyCount } from '../../../server/grading/game-grade.ts';
import type { CountedGame, GradedGame } from '../../../server/grading/season-rows.ts';
import { drawClips } from './clips.ts';
import { exposures } from './exposures.ts';
import { drawSchedule, observerName, type ScheduledGame } from './schedule.ts';
import type { SeasonShape } from './shape.ts';
import { expectedGrade, expit, missLevel, ofPosition } from './truth.ts';

/** A made-up season, and what it was made from. */
export interface KnownSeason {
  /** A row for each report and official, by duty. */
  reports: (GradedGame & { counts: DutyCount[]; week: number })[];
  /** Every game once: a chance is missed where any of its observers marked it. */
  games: (CountedGame & { counts: DutyCount[]; week: number })[];
  /** Marks of clips that all observers watched; none where the shape has no clips. */
  clips: ClipMark[];
  truth: SeasonTruth;
}

export interface SeasonTruth {
  /**
   * By official and position (`ofPosition`): the grade, 0 to 100, that the observers of the official's part, each
   * counted alike, would record on average over games, with the position's own mix of chances, over all weeks.
   */
  grade: ReadonlyMap<string, number>;
  /** Which part of the conference each official belongs to, by construction: parts share no game, no observer and no clip. */
  part: ReadonlyMap<string, number>;
  /**
   * Points that an observer's marks lie above what the observers of the same part, each counted alike, would record on
   * average of the same officials, mean over the positions they report on: below 0 strict or keen.
   */
  severity: ReadonlyMap<string, number>;
  /** The same on the log-odds of a miss, over all positions; above 0 strict. */
  strictness: ReadonlyMap<string, number>;
}

/**
 * Draws a season of counts. Whether a chance was missed is one latent quality, shared by all who watch it, on the
 * logistic scale: an observer calls it a miss where it lies below their threshold, so severity is additive on the
 * log-odds and two observers of one play mostly agree; each then notices what they would call a miss, or not, by a coin
 * of their own. None of this is the form of a model that is fitted to it.
 */
export function drawSeason(shape: SeasonShape, seed: number): KnownSeason {
  const draws = new Draws(seed, 'season of known truth');
  const schedule = drawSchedule(shape, draws.branch('schedule'));
  const people = drawPeople(shape, schedule, draws);
  const reports: KnownSeason['reports'] = [];
  const games: KnownSeason['games'] = [];
  for (const scheduled of schedule) {
    const { game, week, officials } = scheduled;
    const own = draws.branch(game);
    const difficulty = own.normal(0, shape.spread.game);
    for (const position of positions) {
      const official = officials.get(position)!;
      const evening = difficulty + own.normal(0, shape.spread.officialByGame);
      const watching = scheduled.reports.flatMap(({ observer, positions: watched }) =>
        watched.includes(position)
          ? [
              {
                observer,
                keenness: people.keenness(observer),
                shift: people.shift(observer, scheduled, position),
              },
            ]
          : [],
      );
      const tallies = watching.map((): DutyCount[] => []);
      const once: DutyCount[] = [];
      for (const { duty, category, weight, chancesPerGame, missRate } of exposures.get(position)!) {
        const opportunities = poisson(chancesPerGame * shape.chances, own);
        if (opportunities === 0) continue;
        const level = missLevel(missRate) - people.skill(official, category, week) + evening;
        const { each, any } = drawMisses(
          opportunities,
          watching.map(({ shift, keenness }) => ({ chance: expit(level + shift), keenness })),
          own,
        );
        const count = (misses: number) => ({
          duty,
          category,
          weight,
          opportunities,
          met: opportunities - misses,
        });
        for (const [at, misses] of each.entries()) tallies[at]!.push(count(misses));
        once.push(count(any));
      }
      for (const [at, { observer }] of watching.entries())
        reports.push({
          official,
          position,
          game,
          week,
          observer: observerName(observer),
          counts: tallies[at]!,
        });
      games.push({ official, position, game, week, counts: once });
    }
  }
  const clips = shape.clips
    ? drawClips(shape.clips, { ...people, observers: shape.observers }, draws.branch('clips'))
    : [];
  return { reports, games, clips, truth: truthOf(shape, schedule, people) };
}

type People = ReturnType<typeof drawPeople>;

function drawPeople(shape: SeasonShape, schedule: readonly ScheduledGame[], draws: Draws) {
  const { spread, improvement, weeks } = shape;
  const officials = [...new Set(schedule.flatMap(({ officials }) => [...officials.values()]))].sort();
  const categories = [...new Set([...exposures.values()].flat().map(({ category }) => category))];
  const skills = new Map(
    officials.map((official, at) => {
      const own = draws.branch(official);
      const drawn = own.normal(0, spread.official);
      return [
        official,
        {
          overall: shape.skills
            ? shape.skills[(at + Math.floor(at / positions.length)) % shape.skills.length]!
            : shape.yearBefore
              ? aYearBefore(official, drawn, shape.yearBefore, spread.official)
              : drawn,
          gain: improvement ? own.normal(improvement.mean, improvement.spread) : 0,
          by: new Map(categories.map((category) => [category, own.normal(0, spread.officialByCategory)])),
        },
      ];
    }),
  );
  const observers = Array.from({ length: shape.observers }, (_, at) => {
    const own = draws.branch(observerName(at));
    const drawn = own.normal(0, spread.observer);
    return {
      severity: at === 0 ? (shape.extremeObserver ?? drawn) : drawn,
      at: new Map(positions.map((position) => [position, own.normal(0, spread.observerByPosition)])),
      keenness: at % 2 === 1 ? (shape.keennessOfHalf ?? shape.keenness) : shape.keenness,
    };
  });
  /** From −½ in the first week to ½ in the last. */
  const throughSeason = (week: number) => (weeks > 1 ? (week - 1) / (weeks - 1) - 0.5 : 0);
  return {
    officials,
    keenness: (observer: number) => observers[observer]!.keenness,
    skill(official: string, category: string, week: number) {
      const { overall, gain, by } = skills.get(official)!;
      return overall + by.get(category)! + gain * throughSeason(week);
    },
    severity: (observer: number, position: Position) =>
      observers[observer]!.severity + observers[observer]!.at.get(position)!,
    /** What an observer's threshold is moved by for this official's position and crew. */
    shift(observer: number, { crew }: ScheduledGame, position: Position) {
      const harsh = crew === 0 && observer < (shape.harshToFirstCrew?.observers ?? 0);
      return this.severity(observer, position) + (harsh ? shape.harshToFirstCrew!.by : 0);
    },
  };
}

/** Of a year before the season of another seed: the same skill but for what has changed since, or somebody else's. */
function aYearBefore(
  official: string,
  others: number,
  { seed, usualChange, bigChange, changed, newcomers, worse }: NonNullable<SeasonShape['yearBefore']>,
  spread: number,
): number {
  const skill = new Draws(seed, 'season of known truth').branch(official).normal(0, spread);
  const own = new Draws(seed, 'a year before').branch(official);
  const change = own.normal(0, own.unit() < changed ? bigChange : usualChange);
  return (own.unit() < newcomers ? others : skill + change) - worse;
}

/** Misses that each observer marks, and those that any of them does, among chances whose latent quality they share. */
function drawMisses(
  opportunities: number,
  watching: readonly { chance: number; keenness: number }[],
  draws: Draws,
): { each: number[]; any: number } {
  const each = watching.map(() => 0);
  let any = 0;
  const most = Math.max(0, ...watching.map(({ chance }) => chance));
  // Misses are rare: go from one chance that somebody may call a miss to the next, by the geometric distribution.
  const skip = Math.log1p(-most);
  for (let at = Math.floor(Math.log1p(-draws.unit()) / skip); at < opportunities; ) {
    const quality = most * draws.unit();
    let marked = 0;
    for (const [who, { chance, keenness }] of watching.entries()) {
      const noticed = draws.unit() < keenness;
      if (!(noticed && quality < chance)) continue;
      each[who]! += 1;
      marked = 1;
    }
    any += marked;
    at += 1 + Math.floor(Math.log1p(-draws.unit()) / skip);
  }
  return { each, any };
}

/** Poisson count: arrivals of exponential gaps, or its normal approximation where there are many. */
function poisson(mean: number, draws: Draws): number {
  if (mean > 25) return Math.max(0, Math.round(draws.normal(mean, Math.sqrt(mean))));
  let count = -1;
  for (let time = 0; time < mean; count += 1) time -= Math.log1p(-draws.unit());
  return Math.max(0, count);
}

function truthOf(shape: SeasonShape, schedule: readonly ScheduledGame[], people: People): SeasonTruth {
  const grade = new Map<string, number>();
  const part = new Map<string, number>();
  const weeks = Array.from({ length: shape.weeks }, (_, at) => at + 1);
  for (const { officials, part: own } of schedule) {
    for (const [position, official] of officials) {
      // Clips that all have marked link what shares no game.
      part.set(official, shape.clips ? 0 : own);
      const who = ofPosition(official, position);
      if (grade.has(who)) continue;
      const recorded = (week: number) => (observer: number) =>
        expectedGrade(
          exposures.get(position)!,
          (category) => people.severity(observer, position) - people.skill(official, category, week),
          Math.hypot(shape.spread.officialByGame, shape.spread.game),
          people.keenness(observer),
        );
      const asked = shape.improvement ? weeks : [1];
      const observers = observersOfPart(shape, own);
      grade.set(who, mean(asked.map((week) => mean(observers.map(recorded(week))))));
    }
  }
  return {
    grade,
    part,
    severity: severityOf(shape, schedule, people),
    strictness: new Map(
      Array.from({ length: shape.observers }, (_, observer) => [
        observerName(observer),
        mean(positions.map((position) => people.severity(observer, position))),
      ]),
    ),
  };
}

function severityOf(
  shape: SeasonShape,
  schedule: readonly ScheduledGame[],
  people: People,
): Map<string, number> {
  const { spread } = shape;
  const deviation = Math.hypot(
    spread.official,
    spread.officialByCategory,
    spread.officialByGame,
    spread.game,
  );
  const recordedBy = (position: Position) => (observer: number) =>
    expectedGrade(
      exposures.get(position)!,
      () => people.severity(observer, position),
      deviation,
      people.keenness(observer),
    );
  return new Map(
    Array.from({ length: shape.observers }, (_, observer) => {
      const own = schedule.flatMap(({ reports }) => reports).filter((report) => report.observer === observer);
      const all = observersOfPart(shape, observer % shape.parts);
      const points = [...new Set(own.flatMap((report) => report.positions))].map(
        (position) => recordedBy(position)(observer) - mean(all.map(recordedBy(position))),
      );
      return [observerName(observer), mean(points)];
    }),
  );
}

/** Whom officials of a part are held beside: its own observers, all where clips link the parts. */
const observersOfPart = ({ observers, parts, clips }: SeasonShape, part: number): number[] =>
  Array.from({ length: observers }, (_, observer) => observer).filter(
    (observer) => clips !== undefined || observer % parts === part,
  );

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
