/**
 * What the average information lacks of the true curvature, learned from how the slope changed over the steps: the
 * augmentation of Dennis, Gay and Welsch (1981), "An adaptive nonlinear least-squares algorithm", ACM Transactions on
 * Mathematical Software 7(3), here by symmetric updates of rank one. Where two variances are told apart by few rows
 * only, the average information alone takes half of the way at each step.
 */
export class LearnedCurvature {
  #size: number;
  #extra: Float64Array;
  #before: { ratios: Float64Array; gradient: Float64Array } | null = null;

  constructor(size: number) {
    this.#size = size;
    this.#extra = new Float64Array(size * size);
  }

  /** The curvature at these ratios with what was learned up to them; all in logarithms. */
  added(ratios: Float64Array, gradient: Float64Array, curvature: Float64Array): Float64Array {
    const size = this.#size;
    const before = this.#before;
    this.#before = { ratios, gradient };
    if (before) {
      const step = ratios.map((ratio, k) => Math.log(ratio / before.ratios[k]!));
      // A long step crosses what is no longer nearly a parabola.
      if (step.some((value) => Math.abs(value) > 1)) this.#extra.fill(0);
      else {
        const missing = gradient.map((value, k) => {
          let expected = before.gradient[k]!;
          for (let l = 0; l < size; l += 1) {
            expected += (curvature[k * size + l]! + this.#extra[k * size + l]!) * step[l]!;
          }
          return value - expected;
        });
        const along = product(missing, step);
        if (Math.abs(along) > 1e-4 * Math.sqrt(product(missing, missing) * product(step, step))) {
          for (let k = 0; k < size; k += 1)
            for (let l = 0; l < size; l += 1)
              this.#extra[k * size + l]! += (missing[k]! * missing[l]!) / along;
        }
      }
    }
    return curvature.map((value, at) => value + this.#extra[at]!);
  }
}

function product(a: Float64Array, b: Float64Array): number {
  let total = 0;
  for (let k = 0; k < a.length; k += 1) total += a[k]! * b[k]!;
  return total;
}
