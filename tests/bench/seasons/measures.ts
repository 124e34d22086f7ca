import { groupBy } from '../../../server/grading/group-by.ts';
import type { ModelledStandings } from '../../../server/grading/season-choice.ts';
import type { SeasonSettings, SeasonStandings, Standing } from '../../../server/grading/season-model.ts';
import { rankCorrelation } from './rank-correlation.ts';
import type { SeasonTruth } from './season.ts';
import { ofPosition } from './truth.ts';

/** The settings that simulated seasons are graded with. */
export const settings = { minimumGames: 3, minimumOpportunities: 100, top: 2, draws: 1000 } as const;
export const settingsOf = (seed: number): SeasonSettings => ({ ...settings, seed });

/** How one season's standings compare with its truth. Means over the season; null where there was nothing to compare. */
export interface SeasonMeasures {
  /** Rank correlation with the truth (Spearman, ties shared), mean over positions. */
  rhoRaw: number | null;
  rho: number | null;
  /** Shares of nominal 90 % intervals that hold the truth. */
  coverage: number | null;
  severityCoverage: number | null;
  /** Root mean square error of severity, in points, and mean width of its interval. */
  severityError: number | null;
  severityWidth: number | null;
  rankCoverage: number | null;
  /** Mean width of a rank's interval, as a share of the officials ranked: 1 says nothing. */
  rankWidth: number | null;
  /** Mean of adjusted grade − truth, and root mean square errors, in points. */
  bias: number | null;
  errorRaw: number | null;
  error: number | null;
  /** Mean squared error of the chance of a place, and that of an even chance for all. */
  brier: number | null;
  brierOfEvenChance: number | null;
  /** Officials of one position ranked together though nothing links them, and ranked apart though something does. */
  rankedTogether: number;
  rankedApart: number;
  /** 1 where the season itself chose the model of counts, 0 where the linear one; null where it did not choose. */
  choseCounts: number | null;
  /** By tenths of the chance of a place said: how many, sum of chances said, places truly had. */
  places: [count: number, said: number, had: number][];
}

const mean = (values: readonly number[]) =>
  values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
const root = (value: number | null) => (value === null ? null : Math.sqrt(value));

export function measure(standings: SeasonStandings | ModelledStandings, truth: SeasonTruth): SeasonMeasures {
  const truthOf = (row: Standing) => truth.grade.get(ofPosition(row.official, row.position))!;
  const partOf = (row: Standing) => truth.part.get(row.official)!;
  const rhoRaw: number[] = [];
  const rho: number[] = [];
  const rankHeld: number[] = [];
  const widths: number[] = [];
  const squared: number[] = [];
  const even: number[] = [];
  const places = Array.from({ length: 10 }, (): [number, number, number] => [0, 0, 0]);
  let rankedTogether = 0;
  let rankedApart = 0;

  const ranked = standings.standings.filter(({ rank }) => rank);
  for (const ofOne of groupBy(ranked, ({ position }) => position).values()) {
    for (const group of groupBy(ofOne, ({ group }) => group).values())
      rankedTogether +=
        group.length - Math.max(...[...groupBy(group, partOf).values()].map((own) => own.length));
    for (const members of groupBy(ofOne, partOf).values()) {
      rankedApart +=
        members.length -
        Math.max(...[...groupBy(members, ({ group }) => group).values()].map((own) => own.length));
      const truths = members.map(truthOf);
      if (members.length > 2) {
        const raw = rankCorrelation(
          members.map(({ season }) => season.pooled.grade!),
          truths,
        );
        const adjusted = rankCorrelation(
          members.map(({ adjusted }) => adjusted!.grade),
          truths,
        );
        // Where the truth is one tie there is nothing to find; where the grades are one tie, nothing was found.
        if (raw !== undefined) rhoRaw.push(raw ?? 0);
        if (adjusted !== undefined) rho.push(adjusted ?? 0);
      }
      for (const [at, { rank }] of members.entries()) {
        const better = truths.filter((other) => other > truths[at]! + tie).length;
        const alike = truths.filter((other) => Math.abs(other - truths[at]!) <= tie).length;
        // Officials who are as good share their places; one of them is enough for the interval.
        rankHeld.push(Number(rank!.low <= better + alike && rank!.high >= better + 1));
        widths.push((rank!.high - rank!.low + 1) / members.length);
        const had = Math.min(1, Math.max(0, settings.top - better) / alike);
        squared.push((rank!.topProbability - had) ** 2);
        even.push((Math.min(1, settings.top / members.length) - had) ** 2);
        const tenth = places[Math.min(9, Math.floor(10 * rank!.topProbability))]!;
        tenth[0] += 1;
        tenth[1] += rank!.topProbability;
        tenth[2] += had;
      }
    }
  }

  const graded = standings.standings.flatMap((row) => (row.adjusted ? [{ ...row, ...row.adjusted }] : []));
  const observers = standings.observers.filter(({ effect }) => effect !== null);
  return {
    rhoRaw: mean(rhoRaw),
    rho: mean(rho),
    coverage: mean(graded.map((row) => Number(row.low <= truthOf(row) && truthOf(row) <= row.high))),
    severityCoverage: mean(
      observers.map(({ observer, low, high }) => {
        const severity = truth.severity.get(observer)!;
        return Number(low <= severity + tie && severity - tie <= high);
      }),
    ),
    severityError: root(
      mean(observers.map(({ observer, effect }) => (effect! - truth.severity.get(observer)!) ** 2)),
    ),
    severityWidth: mean(observers.map(({ low, high }) => high - low)),
    rankCoverage: mean(rankHeld),
    rankWidth: mean(widths),
    bias: mean(graded.map((row) => row.grade - truthOf(row))),
    errorRaw: root(mean(graded.map((row) => (row.season.pooled.grade! - truthOf(row)) ** 2))),
    error: root(mean(graded.map((row) => (row.grade - truthOf(row)) ** 2))),
    brier: mean(squared),
    brierOfEvenChance: mean(even),
    rankedTogether,
    rankedApart,
    choseCounts: 'model' in standings ? Number(standings.model.used === 'counts') : null,
    places,
  };
}

/** Grades nearer than this are equal in truth. */
const tie = 1e-9;
