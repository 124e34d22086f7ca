import { sampleRankCorrelation } from 'simple-statistics';
import { gradeWholeSeason, type Standing } from '../../server/grading/season-model.ts';
import { key, ordinarySeason, type SeasonShape, simulateSeason } from './simulated-season.ts';

/** Conditions under which adjusted grades must hold up. */
export const scenarios: Readonly<Record<string, SeasonShape>> = {
  ordinary: ordinarySeason,
  'few observers per official': { ...ordinarySeason, observersPerCrew: 2, seenTwice: 0.1 },
  'one extreme observer': { ...ordinarySeason, extremeObserver: -12 },
  'disconnected crews': { ...ordinarySeason, parts: 2 },
  'no severity': { ...ordinarySeason, spread: { ...ordinarySeason.spread, observer: 0 } },
};

export interface SimulationResult {
  scenario: string;
  seasons: number;
  /** Mean over seasons of the Spearman correlation with the truth within position and comparable group. */
  rawCorrelation: number;
  adjustedCorrelation: number;
  /** Part of the seasons in which the adjusted correlation is the higher. */
  adjustedBetter: number;
  /** Part of the officials whose truth is inside the adjusted grade's 90% interval. */
  coverage: number;
  /** Part of the observers whose severity is inside its 90% interval. */
  severityCoverage: number;
  /** Part of the officials whose true rank is inside the rank's 90% interval. */
  rankCoverage: number;
  /** Mean squared error of the chance of the top two against what is true, and of an even chance for all. */
  topError: number;
  topErrorOfEvenChance: number;
  /** Root mean square error of grades, as points: raw and adjusted. */
  rawError: number;
  adjustedError: number;
  /** Officials ranked across groups that cannot be compared: must be 0. */
  rankedAcrossGroups: number;
}

const top = 2;

/** Grades `seasons` simulated seasons of a scenario and compares with their truth. The same seed, the same figures. */
export function simulate(
  scenario: string,
  shape: SeasonShape,
  seasons: number,
  seed: number,
): SimulationResult {
  const means = new Map<string, { sum: number; count: number }>();
  const add = (name: string, value: number) => {
    const mean = means.get(name) ?? { sum: 0, count: 0 };
    means.set(name, mean);
    mean.sum += value;
    mean.count += 1;
  };
  let rankedAcrossGroups = 0;
  for (let s = 0; s < seasons; s += 1) {
    const { rows, truth, severity } = simulateSeason(shape, seed + s);
    const result = gradeWholeSeason(rows, {
      minimumGames: 3,
      minimumOpportunities: 100,
      top,
      seed: seed + s,
      draws: 1000,
    });
    const truthOf = (row: Standing) => truth.get(key(row.official, row.position))!;
    const raw: number[] = [];
    const adjusted: number[] = [];
    for (const group of byPositionAndGroup(result.standings)) {
      const truths = group.map(truthOf);
      if (group.length > 2) {
        raw.push(
          sampleRankCorrelation(
            group.map((row) => row.season.pooled.grade!),
            truths,
          ),
        );
        adjusted.push(
          sampleRankCorrelation(
            group.map((row) => row.adjusted!.grade),
            truths,
          ),
        );
      }
      for (const [i, row] of group.entries()) {
        const place = 1 + truths.filter((other) => other > truths[i]!).length;
        add('rank', Number(row.rank!.low <= place && place <= row.rank!.high));
        add('top', (row.rank!.topProbability - Number(place <= top)) ** 2);
        add('even', (Math.min(1, top / group.length) - Number(place <= top)) ** 2);
        if (row.rank!.high > group.length) rankedAcrossGroups += 1;
      }
    }
    for (const row of result.standings) {
      if (!row.adjusted || row.season.pooled.grade === null) continue;
      add('coverage', Number(row.adjusted.low <= truthOf(row) && truthOf(row) <= row.adjusted.high));
      add('rawError', (row.season.pooled.grade - truthOf(row)) ** 2);
      add('adjustedError', (row.adjusted.grade - truthOf(row)) ** 2);
    }
    for (const { observer, low, high } of result.observers) {
      add('severity', Number(low <= severity.get(observer)! && severity.get(observer)! <= high));
    }
    const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
    add('raw', mean(raw));
    add('adjusted', mean(adjusted));
    add('better', Number(mean(adjusted) > mean(raw)));
  }
  const of = (name: string) => means.get(name)!.sum / means.get(name)!.count;
  return {
    scenario,
    seasons,
    rawCorrelation: of('raw'),
    adjustedCorrelation: of('adjusted'),
    adjustedBetter: of('better'),
    coverage: of('coverage'),
    severityCoverage: of('severity'),
    rankCoverage: of('rank'),
    topError: of('top'),
    topErrorOfEvenChance: of('even'),
    rawError: Math.sqrt(of('rawError')),
    adjustedError: Math.sqrt(of('adjustedError')),
    rankedAcrossGroups,
  };
}

function byPositionAndGroup(standings: readonly Standing[]): Standing[][] {
  const groups = new Map<string, Standing[]>();
  for (const row of standings) {
    if (!row.rank) continue;
    const name = `${row.position} ${row.group}`;
    groups.set(name, [...(groups.get(name) ?? []), row]);
  }
  return [...groups.values()];
}
