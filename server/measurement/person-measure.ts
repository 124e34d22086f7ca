export interface Measure {
  /** In logits, on the scale of the difficulties. */
  readonly value: number;
  /** One over the square root of the information, where the difficulties are taken as known. */
  readonly se: number;
}

/**
 * A person's measure by maximum likelihood, given how many of these items were right.
 *
 * @param difficulties of the items asked, in logits
 * @returns null at none and at all right, where likelihood grows without end
 */
export function likeliestMeasure(difficulties: readonly number[], right: number): Measure | null {
  checked(difficulties, right);
  if (right === 0 || right === difficulties.length) return null;
  return found(difficulties, (at) => right - at.expected);
}

/**
 * Warm's weighted likelihood (1989, "Weighted likelihood estimation of ability in item response theory", Psychometrika
 * 54), which takes out most of the bias of maximum likelihood and is there at none and at all right too. Of items equally
 * hard it is the logarithm of (right + 1/2) over (wrong + 1/2).
 *
 * @param difficulties of the items asked, in logits; at least one
 */
export function weightedMeasure(difficulties: readonly number[], right: number): Measure {
  checked(difficulties, right);
  return found(
    difficulties,
    (at) => right - at.expected + at.third / (2 * at.information),
    (measure) => weightedHeight(difficulties, right, measure),
  );
}

/**
 * The same, with what is not known of the difficulties in its standard error: each error moves the measure by the item's
 * part of the information (first order). They are taken as independent; their sum is held at 0, so that it is a little less.
 */
export function weightedMeasureOf(
  items: readonly { readonly value: number; readonly se: number }[],
  right: number,
): Measure {
  const { value, se } = weightedMeasure(
    items.map((item) => item.value),
    right,
  );
  const moved = items.reduce((sum, item) => {
    const chance = 1 / (1 + Math.exp(item.value - value));
    return sum + (chance * (1 - chance) * se * se * item.se) ** 2;
  }, 0);
  return { value, se: Math.sqrt(se * se + moved) };
}

function checked(difficulties: readonly number[], right: number): void {
  if (difficulties.length === 0 || !Number.isInteger(right) || right < 0 || right > difficulties.length)
    throw new RangeError(`${right} of ${difficulties.length} items cannot be right`);
}

interface At {
  readonly expected: number;
  readonly information: number;
  readonly third: number;
}

function momentsAt(difficulties: readonly number[], measure: number): At {
  let [expected, information, third] = [0, 0, 0];
  for (const difficulty of difficulties) {
    const chance = 1 / (1 + Math.exp(difficulty - measure));
    const spread = chance * (1 - chance);
    expected += chance;
    information += spread;
    third += spread * (1 - 2 * chance);
  }
  return { expected, information, third };
}

const halvings = 80;
const gridStep = 0.1;

/** The highest maximum: the best of a grid, then halved between its neighbours, where `slope` turns negative. */
function found(
  difficulties: readonly number[],
  slope: (at: At) => number,
  height?: (measure: number) => number,
): Measure {
  // Beyond these, even of a hundred items none is left undecided.
  let low = Math.min(...difficulties) - 12;
  let high = Math.max(...difficulties) + 12;
  if (height) {
    // Questions with a wide gap in their difficulties can give weighted likelihood two maxima.
    let [best, highest] = [low, Number.NEGATIVE_INFINITY];
    for (let at = low; at <= high; at += gridStep) {
      const here = height(at);
      if (here > highest) [best, highest] = [at, here];
    }
    [low, high] = [best - gridStep, best + gridStep];
  }
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2;
    if (slope(momentsAt(difficulties, middle)) > 0) low = middle;
    else high = middle;
  }
  const value = (low + high) / 2;
  return { value, se: 1 / Math.sqrt(momentsAt(difficulties, value).information) };
}

/** Logarithm of the likelihood times the square root of the information, but for what does not depend on the measure. */
function weightedHeight(difficulties: readonly number[], right: number, measure: number): number {
  const wrong = difficulties.reduce((sum, one) => sum + Math.log1p(Math.exp(measure - one)), 0);
  return right * measure - wrong + Math.log(momentsAt(difficulties, measure).information) / 2;
}
