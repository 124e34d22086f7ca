import type { ClipMark, clipFactors } from '../clip-marks.ts';
import { withClips } from '../clip-rows.ts';
import type { PastRow } from '../last-season.ts';
import { type ModelRows, withSeasonBefore } from '../past-rows.ts';
import { varianceUncertainty } from '../variance-uncertainty.ts';
import { type CountModelFit, type CountModelResult, fitCountModel } from './count-model.ts';
import type { CountRow, DutyClass } from './count-rows.ts';

/** The random factors of the count model of a season, as its notes name them. */
export const countFactors = {
  official: 'official',
  observer: 'observer',
  game: 'game',
  officialInGame: 'official in one game',
  observerInPosition: 'observer in one position',
  officialInClass: 'official in dear or in other duties',
  classInPosition: 'position in dear or in other duties',
} as const;

type CountFactor = keyof typeof countFactors;

const ofBoth = (a: string, b: string) => `${a}\n${b}`;

export const classInPosition: (position: string, dutyClass: DutyClass) => string = ofBoth;
export const officialInClass: (official: string, dutyClass: DutyClass) => string = ofBoth;
export const observerInPosition: (observer: string, position: string) => string = ofBoth;

/** How an observer's marks in a position lie above the average of the log-odds of a miss, `times` over. */
export const countSeverityEffects = (observer: string, position: string, times = 1) => [
  { factor: countFactors.observer, level: observer, times },
  { factor: countFactors.observerInPosition, level: observerInPosition(observer, position), times },
];

export const countLevel: Readonly<Record<CountFactor, (row: CountRow) => string>> = {
  official: (row) => row.official,
  observer: (row) => row.observer,
  game: (row) => row.game,
  officialInGame: ({ official, game }) => ofBoth(official, game),
  observerInPosition: ({ observer, position }) => ofBoth(observer, position),
  officialInClass: (row) => officialInClass(row.official, row.class),
  classInPosition: (row) => classInPosition(row.position, row.class),
};

/** Variances to begin at, of the order found in seasons of this kind; where the search ends does not hang on them. */
const usual: Readonly<Record<CountFactor, number>> = {
  official: 0.1,
  observer: 0.05,
  game: 0.01,
  officialInGame: 0.06,
  observerInPosition: 0.01,
  officialInClass: 0.02,
  classInPosition: 1,
};

/**
 * A class of duties of a position lies by a factor of about e from what is expected there, at most: what is expected is
 * the position's own share of misses already. So a position without any miss has a finite place, and an uncertain one;
 * and that the few dear misses of a position tell its dear duties' level only so well is part of every grade's doubt.
 */
const spreadOfLevels = 1;

/**
 * That officials differ in skill and observers in severity is known beforehand; of few misses a likelihood can still be
 * highest where they do not, and intervals would then be those of people who are all alike.
 */
const peopleDiffer: ReadonlySet<CountFactor> = new Set(['official', 'observer']);
/** Of fewer people, or fewer misses than people, the likelihood alone hardly bounds a variance from above. */
const fewestPeople = 12;

export const logit = (share: number): number => Math.log(share / (1 - share));
export const expit = (value: number): number => 1 / (1 + Math.exp(-value));

/**
 * Fits the log-odds of a miss as those expected of the position's duties + official + observer + game + official ×
 * game + observer × position + official × class of duties, each variance 0 or more, by Laplace's approximation with
 * the common level integrated over.
 *
 * @param clips marks of clips to take in (`clip-rows.ts`), each one trial
 * @param past what the season before showed, to take in (`past-rows.ts`): a count of as many trials as are as sure, half of
 * them missed where the official is as they were, so that its likelihood is even on both sides
 * @param spread how much officials differ, on the variance's scale, where it is known: the season before does not say
 */
export function fitSeasonCounts(
  rows: readonly CountRow[],
  clips: readonly ClipMark[] = [],
  past: readonly PastRow[] = [],
  spread: number | null = null,
): CountModelResult {
  const names = Object.keys(countFactors) as CountFactor[];
  // Of one observer alone, position by position is what the positions themselves are.
  const alone = rows.every(({ observer }) => observer === rows[0]!.observer);
  const levelIn = { ...countLevel, ...(alone ? { observerInPosition: countLevel.observer } : {}) };
  const misses = rows.reduce((sum, { lost, trials }) => sum + lost * trials, 0);
  const reports = {
    family: 'binomial' as const,
    response: rows.map((row) => row.lost),
    weights: rows.map((row) => row.trials),
    offset: rows.map((row) => logit(row.expected)),
    fixed: [{ name: '(intercept)', values: rows.map(() => 1) }],
    factors: names.map((name) => ({ name: countFactors[name], levels: rows.map(levelIn[name]) })),
  };
  const ofReports = {
    start: names.map((name) => usual[name]),
    held: names.map((name) =>
      name === 'classInPosition' ? spreadOfLevels : name === 'official' ? spread : null,
    ),
    neverZero: names.map((name) => {
      if (!peopleDiffer.has(name)) return false;
      const people = new Set(rows.map(levelIn[name])).size;
      return people >= fewestPeople && misses >= people;
    }),
  };
  const search = { restricted: true, goal: { gain: 1e-3, modes: 1e-2 } };
  const withPast = (season: ModelRows & { family: 'binomial' }) =>
    withSeasonBefore(season, past, countFactors.official, ({ value, variance }) => ({
      response: 0.5,
      weight: 4 / variance,
      offset: -value,
    }));
  if (clips.length > 0) {
    const { start, held, neverZero } = ofReports;
    return fitCountModel(withPast(rowsWithClips(reports, clips)), {
      ...search,
      start: [...start, usualOfClips.clip, usualOfClips.observerOnFilm],
      held: [...held, null, null],
      neverZero: [...neverZero, false, false],
    });
  }
  return fitCountModel(withPast(reports), { ...search, ...ofReports });
}

const usualOfClips: Readonly<Record<keyof typeof clipFactors, number>> = { clip: 2, observerOnFilm: 0.05 };

const rowsWithClips = (reports: ModelRows & { family: 'binomial' }, clips: readonly ClipMark[]) =>
  withClips(
    reports,
    clips,
    { response: ({ missed }) => Number(missed), weight: 1 },
    {
      [countFactors.observer]: ({ observer }) => observer,
      [countFactors.observerInPosition]: ({ observer, position }) => observerInPosition(observer, position),
    },
  );

/** As `varianceUncertainty`, on the log-odds of a miss. */
export const countUncertainty = (fit: CountModelFit) =>
  varianceUncertainty(fit, { ofCounts: true, held: [countFactors.classInPosition] });

export function countFactorOf(fit: CountModelFit, factor: CountFactor) {
  return fit.factors.find(({ name }) => name === countFactors[factor])!;
}

/** What the factor's level adds to the log-odds; 0 of one that is not in the season. */
export function countLevelEffect(fit: CountModelFit, factor: CountFactor): (level: string) => number {
  const { levels, effects } = countFactorOf(fit, factor);
  const of = new Map(levels.map((level, at) => [level, effects[at]!]));
  return (level) => of.get(level as (typeof levels)[number]) ?? 0;
}

/** What the factor adds to each row's log-odds. */
export function countEffect(fit: CountModelFit, factor: CountFactor): (row: CountRow) => number {
  const of = countLevelEffect(fit, factor);
  return (row) => of(countLevel[factor](row));
}
