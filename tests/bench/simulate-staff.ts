import { fileURLToPath } from 'node:url';
import { fisherExactTest } from '../../server/patterns/exact-tests.ts';
import { followTaught } from '../../server/patterns/follow-up/staff.ts';
import { simulateTeaching, type TeachingWorld, teachingSeason } from './simulated-teaching.ts';

const plain: TeachingWorld = { growth: 0, milderLater: 0, rain: 0, left: 1 };
export const teachingWorlds: Record<string, TeachingWorld> = {
  'nothing changes': plain,
  'rain comes and goes': { ...plain, rain: 0.25 },
  'everybody grows better at everything': { ...plain, growth: 0.04 },
  'milder observers afterwards': { ...plain, milderLater: 0.35 },
  'all of it': { growth: 0.03, milderLater: 0.25, rain: 0.25, left: 1 },
};

export interface TaughtWorld {
  /** Share of programs of which it was said, of any duty at any look. */
  readonly fewerOfAny: number;
  readonly moreOfAny: number;
  /** Share of taught duties with "fewer" by the last look, and the same by Fisher's test of before and after at its end. */
  readonly fewer: number;
  readonly naive: number;
  readonly noChange: number;
}

/** Teaches the costliest duties half-way and looks after every week. */
export function teachWorld(world: TeachingWorld, seeds: readonly number[]): TaughtWorld {
  const { weeks, toldWeek } = teachingSeason;
  const day = `2026-09-${String(toldWeek).padStart(2, '0')}`;
  const said = { fewerOfAny: 0, moreOfAny: 0, fewer: 0, naive: 0, noChange: 0 };
  let duties = 0;
  for (const seed of seeds) {
    const { rows, taught } = simulateTeaching(seed, world);
    const fewer = new Set<string>();
    const more = new Set<string>();
    for (let week = toldWeek + 2; week <= weeks; week++) {
      const found = followTaught({
        rows: rows.filter((row) => row.week <= week),
        duties: taught,
        until: day,
        from: day,
        lastWeek: weeks,
      });
      for (const [duty, { verdict, before, after }] of found) {
        if (verdict === 'fewer misses') fewer.add(duty);
        if (verdict === 'more misses') more.add(duty);
        if (week < weeks) continue;
        if (verdict === 'no change shown') said.noChange++;
        if (fisherExactTest(after, before, 'fewer') <= 0.05 / taught.size) said.naive++;
      }
    }
    duties += taught.size;
    said.fewer += fewer.size;
    if (fewer.size > 0) said.fewerOfAny++;
    if (more.size > 0) said.moreOfAny++;
  }
  return {
    fewerOfAny: said.fewerOfAny / seeds.length,
    moreOfAny: said.moreOfAny / seeds.length,
    fewer: said.fewer / duties,
    naive: said.naive / duties,
    noChange: said.noChange / duties,
  };
}

export function describeTeaching(seasons: number): string {
  const seeds = Array.from({ length: seasons }, (_, i) => i + 1);
  const percent = (value: number) => `${(100 * value).toFixed(1).padStart(5)} %`;
  const lines = [
    `A program of four duties taught half-way (${seasons} seasons), looked at each week; Fisher's test at the end beside it`,
  ];
  for (const [left, words] of [
    [1, 'nothing learned'],
    [0.5, 'half of the misses left'],
  ] as const)
    for (const [name, world] of Object.entries(teachingWorlds)) {
      const found = teachWorld({ ...world, left }, seeds);
      lines.push(
        `  ${words.padEnd(24)} ${name.padEnd(38)} fewer of any ${percent(found.fewerOfAny)}  more of any ${percent(found.moreOfAny)}  duties: fewer ${percent(found.fewer)}, no change ${percent(found.noChange)}, Fisher ${percent(found.naive)}`,
      );
    }
  return lines.join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  console.log(describeTeaching(Number(process.argv[2] ?? 100)));
}
