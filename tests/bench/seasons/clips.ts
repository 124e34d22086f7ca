import type { Draws } from '../../../seed-demo/draws.ts';
import { type Position, positions } from '../../../server/football/positions.ts';
import type { ClipMark } from '../../../server/grading/clip-marks.ts';
import { observerName } from './schedule.ts';
import { expit } from './truth.ts';

/** Clips that all observers of a season mark, blind to each other, before its grades are found. */
export interface ClipsShape {
  clips: number;
  /** Things asked of each. */
  asked: number;
  /**
   * How strictness acts: on the log-odds of a miss, as a model would have it, or multiplying what is marked as missed, up
   * to nearly all.
   */
  acts: 'on the log-odds' | 'multiplying';
  /** Standard deviation of how hard a thing is, on the log-odds; `heavy` by Student's t with three degrees of freedom. */
  spread: number;
  heavy: boolean;
  /** Standard deviation of what an observer is on film beside what they are at games, on the log-odds. */
  filmByObserver: number;
  /** Of what an observer overlooks at games, the part that they overlook on film too, where they are asked. */
  overlookedToo: number;
}

/** As the note of design had it: one thing asked of each, by the very form of a model. */
export const plainClips: ClipsShape = {
  clips: 20,
  asked: 1,
  acts: 'on the log-odds',
  spread: 1,
  heavy: false,
  filmByObserver: 0,
  overlookedToo: 1,
};

/** As no model has it. */
export const unlikeClips: ClipsShape = {
  clips: 20,
  asked: 3,
  acts: 'multiplying',
  spread: 1,
  heavy: true,
  filmByObserver: 0.15,
  overlookedToo: 0.3,
};

/** Of a thing asked of a clip the usual log-odds that it is marked as missed: clips are chosen to be worth talking of. */
const usual = -0.7;

/** @param people who marks, with their strictness on the log-odds and the share of misses that they notice */
export function drawClips(
  shape: ClipsShape,
  people: {
    observers: number;
    severity(observer: number, position: Position): number;
    keenness(observer: number): number;
  },
  draws: Draws,
): ClipMark[] {
  const marks: ClipMark[] = [];
  const onFilm = Array.from({ length: people.observers }, () => draws.normal(0, shape.filmByObserver));
  for (let clip = 1; clip <= shape.clips; clip += 1) {
    const position = positions[clip % positions.length]!;
    for (let thing = 0; thing < shape.asked; thing += 1) {
      const level = usual + shape.spread * (shape.heavy ? student(draws) : draws.normal(0, 1));
      for (let observer = 0; observer < people.observers; observer += 1) {
        const shift = people.severity(observer, position) + onFilm[observer]!;
        const chance =
          shape.acts === 'multiplying'
            ? Math.min(0.98, expit(level) * Math.exp(shift))
            : expit(level + shift);
        const overlooked = shape.overlookedToo * (1 - people.keenness(observer));
        marks.push({
          set: 'clips',
          clip,
          item: `thing ${thing}`,
          position,
          observer: observerName(observer),
          missed: draws.unit() < chance * (1 - overlooked),
        });
      }
    }
  }
  return marks;
}

/** Student's t with three degrees of freedom, brought to a standard deviation of 1. */
function student(draws: Draws): number {
  const square = [0, 0, 0].reduce((sum) => sum + draws.normal(0, 1) ** 2, 0);
  return draws.normal(0, 1) / Math.sqrt(square / 3) / Math.sqrt(3);
}
