/** What the coordinator can set. Every value has a default; a wrong one is refused by name. */
export interface PatternSettings {
  /** q of Benjamini and Hochberg: largest expected share of false patterns among those shown. */
  falseDiscoveryRate: number;
  /** Chances an official must have had in a duty (and cut) before it is looked at. */
  minimumOpportunities: number;
  /** Misses must be spread over at least this many games: one bad evening is not a pattern. */
  minimumGames: number;
  /** Two-sided confidence of the intervals shown. */
  confidence: number;
  /** Weight of each duty. Left out: all weigh 1. Given: every duty counted must be in it. */
  weights?: ReadonlyMap<string, number>;
}

export const defaultPatternSettings: PatternSettings = {
  falseDiscoveryRate: 0.1,
  minimumOpportunities: 10,
  minimumGames: 3,
  confidence: 0.95,
};

export function completeSettings(given: Partial<PatternSettings> = {}): PatternSettings {
  const settings = { ...defaultPatternSettings, ...given };
  const { falseDiscoveryRate, minimumOpportunities, minimumGames, confidence } = settings;
  if (!(falseDiscoveryRate > 0 && falseDiscoveryRate < 0.5)) {
    throw new RangeError(`falseDiscoveryRate is ${falseDiscoveryRate}; it must lie between 0 and 0.5`);
  }
  if (!(Number.isInteger(minimumOpportunities) && minimumOpportunities >= 1)) {
    throw new RangeError(`minimumOpportunities is ${minimumOpportunities}; it must be a whole number from 1`);
  }
  if (!(Number.isInteger(minimumGames) && minimumGames >= 1)) {
    throw new RangeError(`minimumGames is ${minimumGames}; it must be a whole number from 1`);
  }
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence is ${confidence}; it must lie between 0 and 1`);
  }
  return settings;
}

export function weightOf(settings: PatternSettings, duty: string): number {
  if (!settings.weights) return 1;
  const weight = settings.weights.get(duty);
  if (weight === undefined || !(Number.isFinite(weight) && weight > 0)) {
    throw new RangeError(`weights: duty "${duty}" has weight ${weight}; give it a positive number`);
  }
  return weight;
}
