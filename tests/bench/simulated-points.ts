import { Draws } from '../../seed-demo/draws.ts';
import type { DatedCount } from '../../server/patterns/follow-up/looks.ts';

/** A world in which development points are opened and followed. Standard deviations are on the log-odds of a miss. */
export interface World {
  /** Observers' severity, and how much milder those of the second half are. */
  severitySd: number;
  milderLater: number;
  /** A game's difficulty, shared by all who work it, and one official's form on the day. */
  gameSd: number;
  formSd: number;
  /** What an official brings to every duty, and to one. */
  skillSd: number;
  dutySkillSd: number;
  /** Officials and duties that are far off, by 1.5. */
  farOff: number;
}

export const season = { crews: 8, gamesAWeek: 6, positions: 4, weeks: 12, toldWeek: 6, observers: 12 };
/** Miss rate and chances a game by duty. */
const duties = [
  { rate: 0.03, chances: 25 },
  { rate: 0.08, chances: 20 },
  { rate: 0.05, chances: 14 },
  { rate: 0.12, chances: 12 },
  { rate: 0.06, chances: 10 },
  { rate: 0.1, chances: 6 },
];

const logit = (p: number) => Math.log(p / (1 - p));
const expit = (x: number) => 1 / (1 + Math.exp(-x));

/** How an official's own rate at a duty changes after week `toldWeek`: from its log-odds, and peers', to new ones. */
export type Change = (own: number, peers: number) => number;
export const changes = {
  none: (own: number) => own,
  halves: (own: number) => logit(expit(own) / 2),
  'falls to the peers': (own: number, peers: number) => Math.min(own, peers),
  doubles: (own: number) => logit(Math.min(0.95, 2 * expit(own))),
};

/**
 * A season whose truth is additive on log-odds: one coin per play shared by all who watch it, each observer seeing
 * 90 % of what happens, a quarter of the games seen twice. Nothing of it is the follow-up's model, which knows
 * neither log-odds of observers nor that misses are overlooked. Same seed, same games up to `toldWeek`, whatever changes.
 *
 * @param changed by `official|duty`
 */
export function simulatePoints(
  seed: number,
  world: World,
  changed: ReadonlyMap<string, Change> = new Map(),
): DatedCount[] {
  const draws = new Draws(seed, 'follow-up');
  const { crews, gamesAWeek, positions, weeks, toldWeek, observers } = season;
  const severity = Array.from({ length: observers }, (_, b) => {
    const half = b < observers / 2 ? 0.5 : -0.5;
    return world.severitySd * draws.normal(0, 1) + half * world.milderLater;
  });
  const own = new Map<string, number>();
  for (let crew = 0; crew < crews; crew++) {
    for (let position = 0; position < positions; position++) {
      const skill = world.skillSd * draws.normal(0, 1);
      for (const [k, { rate }] of duties.entries()) {
        own.set(`c${crew}p${position}|d${k}`, logit(rate) + skill + world.dutySkillSd * draws.normal(0, 1));
      }
    }
  }
  const keys = [...own.keys()];
  for (let i = 0; i < world.farOff; i++) {
    const key = draws.pick(keys);
    own.set(key, own.get(key)! + 1.5);
  }
  const rows: DatedCount[] = [];
  for (let week = 1; week <= weeks; week++) {
    const working = Array.from({ length: crews }, (_, crew) => ({ crew, at: draws.unit() })).sort(
      (a, b) => a.at - b.at,
    );
    for (const { crew } of working.slice(0, gamesAWeek)) {
      const difficulty = world.gameSd * draws.normal(0, 1);
      // Where observers of the halves differ, they also come in halves of the season.
      const half = week > toldWeek ? observers / 2 : 0;
      const pick = () =>
        world.milderLater > 0 ? half + draws.integer(0, observers / 2 - 1) : draws.integer(0, observers - 1);
      const watching = [...new Set([pick(), draws.chance(0.25) ? pick() : -1])].filter((b) => b >= 0).sort();
      for (let position = 0; position < positions; position++) {
        const official = `c${crew}p${position}`;
        const form = world.formSd * draws.normal(0, 1);
        for (const [k, { rate, chances }] of duties.entries()) {
          const key = `${official}|d${k}`;
          const change = week > toldWeek ? changed.get(key) : undefined;
          const level = change ? change(own.get(key)!, logit(rate)) : own.get(key)!;
          const n = Math.round(chances * (0.6 + 0.8 * draws.unit()));
          let misses = 0;
          for (let play = 0; play < n; play++) {
            const coin = draws.unit();
            let marked = false;
            for (const b of [0, 1]) {
              const sees = draws.unit() < 0.9;
              const observer = watching[b];
              if (observer === undefined || !sees) continue;
              if (coin < expit(level + difficulty + form + severity[observer]!)) marked = true;
            }
            if (marked) misses++;
          }
          rows.push({
            official,
            position: `p${position}`,
            crew: `c${crew}`,
            game: `w${week}c${crew}`,
            week,
            day: `2026-09-${String(week).padStart(2, '0')}`,
            observer: watching.map((b) => `o${b}`).join('+'),
            duty: `d${k}`,
            situationCut: null,
            opportunities: n,
            misses,
            model: 0,
          });
        }
      }
    }
  }
  return rows;
}
