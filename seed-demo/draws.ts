import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** Mixes a seed and a name into a 32-bit number (FNV-1a over the UTF-16 units, as published by Fowler, Noll and Vo). */
function mixSeed(seed: number, name: string): number {
  let hash = (0x811c9dc5 ^ seed) >>> 0;
  for (let at = 0; at < name.length; at += 1) {
    hash = Math.imul(hash ^ name.charCodeAt(at), 0x01000193) >>> 0;
  }
  return hash | 0;
}

/**
 * Seeded random draws. The same seed and name give the same draws on every machine.
 * `branch` makes an independent sequence, so that one part of the demo season can change without moving the rest.
 */
export class Draws {
  readonly #seed: number;
  readonly #generator: ReturnType<typeof xoroshiro128plus>;

  constructor(seed: number, name = '') {
    this.#seed = mixSeed(seed, name);
    this.#generator = xoroshiro128plus(this.#seed);
  }

  /** An independent sequence of the same seed. */
  branch(name: string): Draws {
    return new Draws(this.#seed, name);
  }

  /** Uniform in [0, 1). */
  unit(): number {
    return uniformFloat64(this.#generator);
  }

  /** Uniform integer, both ends included. */
  integer(low: number, high: number): number {
    return uniformInt(this.#generator, low, high);
  }

  chance(probability: number): boolean {
    return this.unit() < probability;
  }

  /** Normal draw (Box and Muller 1958). */
  normal(mean: number, deviation: number): number {
    const radius = Math.sqrt(-2 * Math.log(1 - this.unit()));
    return mean + deviation * radius * Math.cos(2 * Math.PI * this.unit());
  }

  pick<T>(choices: readonly T[]): T {
    if (choices.length === 0) throw new RangeError('Nothing to pick from.');
    return choices[this.integer(0, choices.length - 1)] as T;
  }

  /** Picks a key with probability proportional to its weight. */
  weighted<K extends string>(weights: Readonly<Record<K, number>>): K {
    const entries = Object.entries(weights) as [K, number][];
    let rest = this.unit() * entries.reduce((sum, [, weight]) => sum + weight, 0);
    for (const [key, weight] of entries) {
      rest -= weight;
      if (rest < 0) return key;
    }
    return (entries.at(-1) as [K, number])[0];
  }

  /** A shuffled copy (Fisher and Yates). */
  shuffled<T>(items: readonly T[]): T[] {
    const copy = [...items];
    for (let last = copy.length - 1; last > 0; last -= 1) {
      const other = this.integer(0, last);
      [copy[last], copy[other]] = [copy[other] as T, copy[last] as T];
    }
    return copy;
  }
}
