import { fileURLToPath } from 'node:url';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { describeFew, type FewCrews, simulateFewCrews } from './simulate-few-crews.ts';
import { describeTrends, simulateTrends, type TrendsShown } from './simulate-trends.ts';
import { conferenceShape, type Planted, type SeasonShape, simulateSeason } from './simulated-counts.ts';

interface PatternSimulation {
  /** Share of seasons with any false statement, by what was simulated and by family. Promised: at most q. */
  falseSeasons: {
    world: string;
    seasons: number;
    officials: number;
    strengths: number;
    crews: number;
    weeks: number;
  }[];
  /** Share of planted misses found, and share of what was found that nobody planted. */
  power: { chancesPerGame: number; usualRate: number; plantedRate: number; found: number; planted: number }[];
  falseAmongFound: number;
  /** Where one official misses much in a conference of four crews. */
  fewCrews: FewCrews[];
  trends: TrendsShown[];
}

const worlds: [string, Partial<SeasonShape>][] = [
  ['nobody differs, observers alike', { severitySd: 0 }],
  ['nobody differs, observers differ (sd 0.6 on the log-odds)', {}],
  ['nobody differs, observers differ widely (sd 1.2)', { severitySd: 1.2 }],
  ['nobody differs, games differ too (sd 0.5)', { gameSd: 0.5 }],
];

/** Duties of the simulated conference: usual miss rate and chances a game by number, as `simulateSeason` has them. */
const plantedDuties = [
  { duty: 'd1', usualRate: 0.05, chancesPerGame: 25 },
  { duty: 'd5', usualRate: 0.05, chancesPerGame: 12 },
  { duty: 'd9', usualRate: 0.05, chancesPerGame: 6 },
];
const plantedRates = [0.1, 0.15, 0.2, 0.3, 0.4];

/** Many seeded seasons: how often a season without differences shows any, and how many planted ones are found. */
export function simulatePatterns(seasons: number): PatternSimulation {
  const falseSeasons = worlds.map(([world, shape]) => {
    const share = { officials: 0, strengths: 0, crews: 0, weeks: 0 };
    for (let seed = 1; seed <= seasons; seed++) {
      const { families } = findPatterns(simulateSeason(seed, shape));
      for (const family of Object.keys(share) as (keyof typeof share)[]) {
        if (families[family].found > 0) share[family] += 1 / seasons;
      }
    }
    return { world, seasons, ...share };
  });

  let foundInAll = 0;
  let falseFound = 0;
  const power = plantedDuties.flatMap(({ duty, usualRate, chancesPerGame }) =>
    plantedRates.map((plantedRate) => {
      let found = 0;
      let planted = 0;
      for (let seed = 1; seed <= Math.ceil(seasons / 5); seed++) {
        const plan: Planted[] = [0, 1, 2, 3].map((i) => ({
          official: `c${(seed + 2 * i) % conferenceShape.crews}p${(3 * i + seed) % conferenceShape.positions}`,
          duty,
          situationCut: null,
          missRate: plantedRate,
        }));
        const { patterns } = findPatterns(simulateSeason(seed, { planted: plan }));
        const keys = new Set(plan.map((p) => p.official));
        planted += keys.size;
        const hit = new Set<string>();
        for (const pattern of patterns) {
          foundInAll++;
          if (pattern.duty === duty && keys.has(pattern.official)) hit.add(pattern.official);
          else falseFound++;
        }
        found += hit.size;
      }
      return { chancesPerGame, usualRate, plantedRate, found, planted };
    }),
  );
  return {
    falseSeasons,
    power,
    falseAmongFound: foundInAll === 0 ? 0 : falseFound / foundInAll,
    fewCrews: simulateFewCrews(seasons),
    trends: simulateTrends(seasons),
  };
}

export function describePatternSimulation(simulation: PatternSimulation): string {
  const percent = (value: number) => `${(100 * value).toFixed(0).padStart(3)}%`;
  const lines = ['Share of seasons with any false pattern (promised: at most 10%)'];
  for (const { world, seasons, officials, strengths, crews, weeks } of simulation.falseSeasons) {
    lines.push(
      `  ${world.padEnd(58)} officials ${percent(officials)}  strengths ${percent(strengths)}  crews ${percent(crews)}  weeks ${percent(weeks)}  (${seasons} seasons)`,
    );
  }
  lines.push('Planted misses found (about seven games an official, usual miss rate 5%)');
  for (const { chancesPerGame, plantedRate, found, planted } of simulation.power) {
    lines.push(
      `  ${String(chancesPerGame).padStart(3)} chances a game, misses ${percent(plantedRate)}: ${percent(found / planted)} (${found} of ${planted})`,
    );
  }
  lines.push(`False among all that were found: ${percent(simulation.falseAmongFound)}`);
  lines.push(...describeFew(simulation.fewCrews), ...describeTrends(simulation.trends));
  return lines.join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  console.log(describePatternSimulation(simulatePatterns(Number(process.argv[2] ?? 100))));
}
