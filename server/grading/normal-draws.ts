import { randomNormal } from 'd3-random';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** Independent draws from the standard normal distribution, always the same for a seed. */
export class NormalDraws {
  #next: () => number;
  #drawn = new Float64Array(0);

  constructor(seed: number) {
    const source = xoroshiro128plus(seed);
    this.#next = randomNormal.source(() => uniformFloat64(source))();
  }

  /** The first draws of the seed, `count` or more; kept, so that the next who asks costs nothing. */
  first(count: number): Float64Array {
    const before = this.#drawn;
    if (before.length < count) {
      this.#drawn = new Float64Array(count);
      this.#drawn.set(before);
      for (let i = before.length; i < count; i += 1) this.#drawn[i] = this.#next();
    }
    return this.#drawn;
  }
}
