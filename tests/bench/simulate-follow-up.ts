import { fileURLToPath } from 'node:url';
import { prepareCounts } from '../../server/patterns/counts.ts';
import { fisherExactTest } from '../../server/patterns/exact-tests.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { followUp, type Verdict } from '../../server/patterns/follow-up/follow-up.ts';
import type { DatedCount } from '../../server/patterns/follow-up/looks.ts';
import { type OfficialSpread, officialSpread } from '../../server/patterns/follow-up/official-spread.ts';
import { usualEvents } from '../../server/patterns/game-variation.ts';
import { compareOfficials } from '../../server/patterns/official-patterns.ts';
import { besidePeers } from '../../server/patterns/one-official.ts';
import { type Change, changes, season, simulatePoints, type World } from './simulated-points.ts';

const plain: World = {
  severitySd: 0,
  milderLater: 0,
  gameSd: 0,
  formSd: 0,
  skillSd: 0,
  dutySkillSd: 0,
  farOff: 0,
};
export const worlds: Record<string, World> = {
  'nobody differs': plain,
  'observers differ': { ...plain, severitySd: 0.6 },
  'milder observers afterwards': { ...plain, severitySd: 0.3, milderLater: 1, farOff: 4 },
  'games and days differ': { ...plain, severitySd: 0.6, gameSd: 0.5, formSd: 0.3 },
  'officials differ': { ...plain, severitySd: 0.6, skillSd: 0.3, dutySkillSd: 0.5 },
  'a few far off': { ...plain, severitySd: 0.6, farOff: 6 },
  'everything differs': {
    severitySd: 0.6,
    milderLater: 0.6,
    gameSd: 0.4,
    formSd: 0.3,
    skillSd: 0.2,
    dutySkillSd: 0.4,
    farOff: 4,
  },
};

/** How points are opened: those that patterns find, or the season's two highest counts beside peers. */
export type Opening = 'found' | 'highest';

interface Point {
  official: string;
  position: string;
  duty: string;
}

const keyOf = ({ official, duty }: Point) => `${official}|${duty}`;
const upTo = (rows: readonly DatedCount[], week: number) => rows.filter((row) => row.week <= week);
const ofDuty = (rows: readonly DatedCount[], { position, duty }: Point) =>
  rows.filter((row) => row.position === position && row.duty === duty);

/** The spread that `findPatterns` would keep of these rows, without all else it finds. */
function spreadOf(rows: readonly DatedCount[]): OfficialSpread {
  const counts = prepareCounts(rows);
  const compared = compareOfficials(counts, usualEvents(counts, 'misses'));
  return officialSpread(counts.rows, compared.missVariation.variance);
}

function open(rows: readonly DatedCount[], opening: Opening): Point[] {
  if (opening === 'found')
    return findPatterns(rows)
      .patterns.filter(({ situationCut }) => situationCut === null)
      .map(({ official, position, duty }) => ({ official, position, duty }));
  const points = [...new Map(rows.map((row) => [keyOf(row), row])).values()].map(
    ({ official, position, duty }) => ({ official, position, duty }),
  );
  const together = new Map<string, DatedCount[]>();
  for (const row of rows) {
    const key = `${row.position}|${row.duty}`;
    together.set(key, [...(together.get(key) ?? []), row]);
  }
  const excess = (point: Point) => {
    const { comparable, expected } = besidePeers(
      together.get(`${point.position}|${point.duty}`)!,
      point.official,
    );
    return (comparable.events - expected) / Math.sqrt(expected + 1);
  };
  return points
    .map((point) => ({ point, above: excess(point) }))
    .sort((a, b) => b.above - a.above)
    .slice(0, 2)
    .map(({ point }) => point);
}

export interface FollowedWorld {
  points: number;
  /** Share of points of which it was said by the look of each week after the conversation, or before. */
  fewer: number[];
  more: number[];
  noChange: number;
  /** The same by Fisher's test of before and after at every look, observers and selection forgotten. */
  naiveFewer: number[];
}

/** Opens points half-way, lets the officials change or not, and looks after every week. */
export function followWorld(
  world: World,
  opening: Opening,
  change: Change,
  seeds: readonly number[],
): FollowedWorld {
  const looks = season.weeks - season.toldWeek;
  const said = { fewer: new Array(looks).fill(0), more: new Array(looks).fill(0) };
  const naive = new Array(looks).fill(0);
  let points = 0;
  let noChange = 0;
  for (const seed of seeds) {
    const unchanged = simulatePoints(seed, world);
    const before = upTo(unchanged, season.toldWeek);
    const opened = open(before, opening);
    if (opened.length === 0) continue;
    const all =
      change === changes.none
        ? unchanged
        : simulatePoints(seed, world, new Map(opened.map((point) => [keyOf(point), change])));
    const told = before.at(-1)!.day;
    const first = opened.map(() => ({ fewer: looks, more: looks, naive: looks }));
    const last: Verdict[] = [];
    let spread = spreadOf(before);
    for (let look = 0; look < looks; look++) {
      const rows = upTo(all, season.toldWeek + look + 1);
      // Found anew every third week: at each look it would cost as much as all else.
      if (look % 3 === 1) spread = spreadOf(rows);
      for (const [i, point] of opened.entries()) {
        const own = ofDuty(rows, point);
        const found = followUp({ rows: own, official: point.official, told, spread, lastWeek: season.weeks });
        if (found.verdict === 'fewer misses') first[i]!.fewer = Math.min(first[i]!.fewer, look);
        if (found.verdict === 'more misses') first[i]!.more = Math.min(first[i]!.more, look);
        if (found.after.games >= 2 && fisherExactTest(found.after, found.before, 'fewer') <= 0.05)
          first[i]!.naive = Math.min(first[i]!.naive, look);
        last[i] = found.verdict;
      }
    }
    for (const [i, { fewer, more, naive: by }] of first.entries()) {
      points++;
      if (last[i] === 'no change shown') noChange++;
      for (let look = 0; look < looks; look++) {
        if (fewer <= look) said.fewer[look]++;
        if (more <= look) said.more[look]++;
        if (by <= look) naive[look]++;
      }
    }
  }
  const shares = (counts: number[]) => counts.map((count) => count / Math.max(1, points));
  return {
    points,
    fewer: shares(said.fewer),
    more: shares(said.more),
    noChange: noChange / Math.max(1, points),
    naiveFewer: shares(naive),
  };
}

export interface FollowUpSimulation {
  seasons: number;
  results: ({ world: string; opening: Opening; change: string } & FollowedWorld)[];
}

export function simulateFollowUp(seasons: number): FollowUpSimulation {
  const seeds = Array.from({ length: seasons }, (_, i) => i + 1);
  const results: FollowUpSimulation['results'] = [];
  for (const [name, world] of Object.entries(worlds)) {
    for (const opening of ['highest', 'found'] as const) {
      for (const [change, of] of Object.entries(changes)) {
        if (change !== 'none' && opening === 'highest') continue;
        results.push({ world: name, opening, change, ...followWorld(world, opening, of, seeds) });
      }
    }
  }
  return { seasons, results };
}

export function describeFollowUpSimulation({ seasons, results }: FollowUpSimulation): string {
  const percent = (values: number[]) =>
    values.map((value) => `${(100 * value).toFixed(1).padStart(5)}`).join(' ');
  const lines = [
    `Follow-up of points opened half-way (${seasons} seasons), by the look of weeks 7 to 12, in per cent of points`,
    'Nothing changed: said wrongly (promised: at most 5 each by any look); Fisher at every look beside it',
  ];
  for (const result of results.filter(({ change }) => change === 'none')) {
    const { world, opening, points, fewer, more, naiveFewer } = result;
    lines.push(
      `  ${world.padEnd(28)} ${opening.padEnd(8)} fewer ${percent(fewer)}  more ${percent(more)}  Fisher fewer ${percent(naiveFewer)}  (${points} points)`,
    );
  }
  lines.push('Changed: said rightly');
  for (const { world, opening, change, points, fewer, more } of results) {
    if (change === 'none') continue;
    lines.push(
      `  ${world.padEnd(28)} ${opening.padEnd(8)} ${change.padEnd(19)} ${percent(change === 'doubles' ? more : fewer)}  (${points} points)`,
    );
  }
  return lines.join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  console.log(describeFollowUpSimulation(simulateFollowUp(Number(process.argv[2] ?? 100))));
}
