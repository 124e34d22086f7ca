import { Draws } from '../../seed-demo/draws.ts';
import type { DatedCount } from '../../server/patterns/follow-up/looks.ts';

/** What is taught half-way, and what else changes in the world. */
export interface TeachingWorld {
  /** Everybody grows better at everything from week to week, as a part of the spread of play's difficulty. */
  readonly growth: number;
  /** How much milder those are who observe in the second half. */
  readonly milderLater: number;
  /** Share of games in rain, which makes a third of the duties far harder. */
  readonly rain: number;
  /** Share of misses left at a duty once it is taught. */
  readonly left: number;
}

export const teachingSeason = {
  crews: 8,
  gamesAWeek: 6,
  positions: 5,
  weeks: 12,
  toldWeek: 6,
  observers: 12,
};
const dutyCount = 20;
export const taughtDuties = 4;

/**
 * A season that shares nothing of the form that `staff.ts` takes it to have: a chance is missed where the play's difficulty,
 * skewed and shared by all who work it, is more than the official is up to, by a threshold and not by log-odds; observers
 * notice a miss or not by a coin of their own and now and then note one that was none. Taught are those duties that cost
 * most up to then, as a coordinator would choose them.
 */
export function simulateTeaching(seed: number, world: TeachingWorld) {
  const draws = new Draws(seed, 'teaching');
  const { crews, gamesAWeek, positions, weeks, toldWeek, observers } = teachingSeason;
  const duties = Array.from({ length: dutyCount }, (_, k) => ({
    key: `d${k}`,
    bar: 1.2 + 2.2 * draws.unit(),
    chances: 2 + Math.round(10 * draws.unit()),
    wet: draws.chance(1 / 3),
  }));
  const keen = Array.from({ length: observers }, () => 0.55 + 0.4 * draws.unit());
  const wrong = Array.from({ length: observers }, () => 0.004 * draws.unit());
  const ability = new Map<string, number>();
  for (let crew = 0; crew < crews; crew++)
    for (let position = 0; position < positions; position++)
      ability.set(`c${crew}p${position}`, 0.25 * draws.normal(0, 1));
  const rows: DatedCount[] = [];
  let taught = new Set<string>();
  for (let week = 1; week <= weeks; week++) {
    if (week === toldWeek + 1) taught = costliest(rows);
    const working = Array.from({ length: crews }, (_, crew) => ({ crew, at: draws.unit() }))
      .sort((a, b) => a.at - b.at)
      .slice(0, gamesAWeek);
    for (const { crew } of working) {
      const rain = draws.chance(world.rain);
      const watching = [draws.integer(0, observers - 1)];
      if (draws.chance(0.25)) watching.push(draws.integer(0, observers - 1));
      const seeing = [...new Set(watching)].sort((a, b) => a - b);
      for (const duty of duties) {
        for (let position = 0; position < positions; position++) {
          const official = `c${crew}p${position}`;
          const able =
            duty.bar + ability.get(official)! + world.growth * (week - 1) - (rain && duty.wet ? 0.7 : 0);
          const n = Math.max(1, Math.round(duty.chances * (0.5 + draws.unit())));
          let misses = 0;
          for (let play = 0; play < n; play++) {
            const difficulty = -Math.log(1 - draws.unit()) + 0.4 * draws.normal(0, 1);
            const missed = difficulty > able && !(taught.has(duty.key) && draws.unit() >= world.left);
            let noted = false;
            for (const b of seeing) {
              const notices = keen[b]! * (week > toldWeek ? 1 - world.milderLater : 1);
              if (draws.unit() < (missed ? notices : wrong[b]!)) noted = true;
            }
            if (noted) misses++;
          }
          rows.push({
            official,
            position: `p${position}`,
            crew: `c${crew}`,
            game: `w${week}c${crew}`,
            week,
            day: `2026-09-${String(week).padStart(2, '0')}`,
            observer: seeing.map((b) => `o${b}`).join('+'),
            duty: duty.key,
            situationCut: null,
            opportunities: n,
            misses,
            model: 0,
          });
        }
      }
    }
  }
  return { rows, taught };
}

function costliest(rows: readonly DatedCount[]): Set<string> {
  const misses = new Map<string, number>();
  for (const row of rows) misses.set(row.duty, (misses.get(row.duty) ?? 0) + row.misses);
  return new Set(
    [...misses]
      .sort((a, b) => b[1] - a[1])
      .slice(0, taughtDuties)
      .map(([duty]) => duty),
  );
}
