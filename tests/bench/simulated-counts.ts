import { Draws } from '../../seed-demo/draws.ts';
import type { CountRow } from '../../server/patterns/counts.ts';

export interface Planted {
  official: string;
  duty: string;
  situationCut: string | null;
  missRate: number;
  /** Miss rate in the last week, where it moves from `missRate` evenly on the log-odds. */
  lastRate?: number;
}

export interface SeasonShape {
  crews: number;
  positions: number;
  weeks: number;
  gamesPerWeek: number;
  observers: number;
  duties: number;
  cuts: number;
  /** Standard deviation of observers' severity on the log-odds of a miss. */
  severitySd: number;
  /** The same for officials' skill; 0 where officials do not differ. */
  skillSd: number;
  /** The same for a game's difficulty, shared by all officials who work it. */
  gameSd: number;
  /** Share of games that a second observer sees. */
  doubled: number;
  /** Chance that a crew's game is seen by the observer who always sees that crew. */
  homeObserver: number;
  /** Each observer works in one half of the season only: who sees a game changes with the weeks. */
  observersChange: boolean;
  /** Change of everybody's miss rate at duty d0 from the first week to the last, on the log-odds. */
  drift: number;
  planted: Planted[];
}

export const conferenceShape: SeasonShape = {
  crews: 8,
  positions: 8,
  weeks: 11,
  gamesPerWeek: 5,
  observers: 14,
  duties: 12,
  cuts: 2,
  severitySd: 0.6,
  skillSd: 0,
  gameSd: 0,
  doubled: 0.1,
  homeObserver: 0,
  observersChange: false,
  drift: 0,
  planted: [],
};

const logit = (p: number) => Math.log(p / (1 - p));
const expit = (x: number) => 1 / (1 + Math.exp(-x));

const plantedLevel = ({ missRate, lastRate = missRate }: Planted, late: number) =>
  logit(missRate) + late * (logit(lastRate) - logit(missRate));

/** Two draws, the same in half of all cases. */
function sharedDraws(random: () => number): readonly [number, number] {
  const one = random();
  return [one, random() < 0.5 ? one : random()];
}

/** A season of counts with known truth. Officials are `c<crew>p<position>`. */
export function simulateSeason(seed: number, given: Partial<SeasonShape> = {}): CountRow[] {
  const shape = { ...conferenceShape, ...given };
  const draws = new Draws(seed, 'simulated counts');
  const random = () => draws.unit();
  const rows: CountRow[] = [];
  const severity = Array.from({ length: shape.observers }, () => shape.severitySd * draws.normal(0, 1));
  const skill = new Map<string, number>();
  for (let crew = 0; crew < shape.crews; crew++) {
    for (let position = 0; position < shape.positions; position++) {
      skill.set(`c${crew}p${position}`, shape.skillSd * draws.normal(0, 1));
    }
  }
  const base = Array.from({ length: shape.duties }, (_, k) => [0.03, 0.05, 0.08, 0.12][k % 4]!);
  const chances = Array.from({ length: shape.duties }, (_, k) => [25, 12, 6, 3][Math.floor(k / 4) % 4]!);
  const planted = new Map(shape.planted.map((p) => [`${p.official}|${p.duty}`, p]));
  for (let week = 1; week <= shape.weeks; week++) {
    const crews = Array.from({ length: shape.crews }, (_, i) => i);
    for (let i = crews.length - 1; i > 0; i--) {
      const j = Math.floor(random() * (i + 1));
      [crews[i], crews[j]] = [crews[j]!, crews[i]!];
    }
    for (let g = 0; g < Math.min(shape.gamesPerWeek, shape.crews); g++) {
      const game = `w${week}g${g}`;
      const crew = crews[g]!;
      const difficulty = shape.gameSd * draws.normal(0, 1);
      const half = Math.floor(shape.observers / 2);
      const [from, many] = !shape.observersChange
        ? [0, shape.observers]
        : 2 * week <= shape.weeks
          ? [0, half]
          : [half, shape.observers - half];
      const first = random() < shape.homeObserver ? crew % many : Math.floor(random() * many);
      const observers = [from + first];
      if (random() < shape.doubled) observers.push(from + ((first + 1) % many));
      for (let position = 0; position < shape.positions; position++) {
        const official = `c${crew}p${position}`;
        for (let k = 0; k < shape.duties; k++) {
          const duty = `d${k}`;
          const n = Math.max(0, Math.round(chances[k]! * (0.6 + 0.8 * random())));
          const plant = planted.get(`${official}|${duty}`);
          const late = (week - 1) / Math.max(1, shape.weeks - 1);
          const level =
            logit(base[k]!) + skill.get(official)! + difficulty + (k === 0 ? shape.drift * late : 0);
          // Each chance: which cuts it is in, and for each who watches it a draw. Half of two draws is shared: what is
          // easy to see is seen by both.
          const chancesOfDuty = Array.from({ length: n }, () => ({
            u: sharedDraws(random),
            cut: Math.floor(random() * 4),
            m: random(),
          }));
          // A game counts once: missed where one of its observers, whoever they are, marked the chance.
          const tally = Array.from({ length: shape.cuts + 1 }, () => ({ n: 0, x: 0, model: 0 }));
          for (const { u, cut, m } of chancesOfDuty) {
            const inPlant = plant && (plant.situationCut === null || plant.situationCut === `cut${cut}`);
            const missed = observers.some(
              (observer, at) =>
                u[at]! <
                expit((inPlant ? plantedLevel(plant, late) + difficulty : level) + severity[observer]!),
            );
            const model = !missed && m < 0.02;
            for (const which of cut < shape.cuts ? [0, cut + 1] : [0]) {
              tally[which]!.n++;
              if (missed) tally[which]!.x++;
              if (model) tally[which]!.model++;
            }
          }
          for (const [which, t] of tally.entries()) {
            if (t.n === 0) continue;
            rows.push({
              official,
              position: `p${position}`,
              crew: `c${crew}`,
              game,
              week,
              observer: observers.map((observer) => `o${observer}`).join('+'),
              duty,
              situationCut: which === 0 ? null : `cut${which - 1}`,
              opportunities: t.n,
              misses: t.x,
              model: t.model,
            });
          }
        }
      }
    }
  }
  return rows;
}
