import {
  type CodedFactor,
  type NormalEquations,
  normalEquations,
  weightedProduct,
} from '../normal-equations.ts';
import { emptyTerms, type RowTerms } from './families.ts';

/**
 * Normal equations whose rows keep their places while their weights and responses change, as they do from step to
 * step of iterated weighted least squares: planned once, filled anew each time.
 */
export interface WorkingEquations {
  equations: NormalEquations;
  fixed: readonly Float64Array[];
  /** Of each row, its level of the first factor. */
  firstLevel: Int32Array;
  /** How many factors there are beside the first; the arrays that follow have as many places a row. */
  others: number;
  /** Rest levels of a row, in elimination order. */
  restLevel: Int32Array;
  /** Entries of `meets` that a row adds to. */
  meetEntry: Int32Array;
  /** Entries of `crossWeight` that a row adds to, one for each pair of other factors. */
  crossEntry: Int32Array;
  /** Room for one value a row, to work in: what a search does again and again asks for no memory of its own. */
  room: RowRoom;
}

/** All of it is written over by whatever works on the equations next. */
interface RowRoom {
  terms: readonly [RowTerms, RowTerms];
  given: Float64Array;
  working: Float64Array;
  moved: Float64Array;
  predictors: readonly [Float64Array, Float64Array];
  spread: Float64Array;
  pull: Float64Array;
  ones: Float64Array;
}

export function workingEquations(
  rows: number,
  fixed: readonly Float64Array[],
  factors: readonly CodedFactor[],
): WorkingEquations {
  const equations = normalEquations(new Float64Array(rows), new Float64Array(rows).fill(1), fixed, factors);
  const { first, meets, place, crossStart, crossRow } = equations;
  const rest = factors.flatMap((factor, k) =>
    k === first ? [] : [{ codes: factor.codes, place: place[k]! }],
  );
  const others = rest.length;
  const firstLevel = first < 0 ? new Int32Array(rows) : factors[first]!.codes;
  const restLevel = new Int32Array(rows * others);
  const meetEntry = new Int32Array(rows * others);
  const pairs = (others * (others - 1)) / 2;
  const crossEntry = new Int32Array(rows * pairs);
  for (let row = 0; row < rows; row += 1) {
    const level = firstLevel[row]!;
    for (let k = 0; k < others; k += 1) {
      const at = rest[k]!.place[rest[k]!.codes[row]!]!;
      restLevel[row * others + k] = at;
      meetEntry[row * others + k] = placeIn(meets.members, meets.start[level]!, meets.start[level + 1]!, at);
    }
    let pair = row * pairs;
    for (let k = 0; k < others; k += 1) {
      for (let l = k + 1; l < others; l += 1) {
        const a = restLevel[row * others + k]!;
        const b = restLevel[row * others + l]!;
        const column = Math.min(a, b);
        crossEntry[pair++] = placeIn(crossRow, crossStart[column]!, crossStart[column + 1]!, Math.max(a, b));
      }
    }
  }
  const values = () => new Float64Array(rows);
  const room: RowRoom = {
    terms: [emptyTerms(rows), emptyTerms(rows)],
    given: values(),
    working: values(),
    moved: values(),
    predictors: [values(), values()],
    spread: values(),
    pull: values(),
    ones: values().fill(1),
  };
  return { equations, fixed, firstLevel, others, restLevel, meetEntry, crossEntry, room };
}

function placeIn(members: Int32Array, from: number, until: number, member: number): number {
  for (let at = from; at < until; at += 1) if (members[at] === member) return at;
  throw new RangeError(`no entry for level ${member}`);
}

/** Fills the equations with new weights (0 or more) and responses, finite all. */
export function reweigh(work: WorkingEquations, response: Float64Array, weights: Float64Array): void {
  const { equations, fixed } = work;
  const { columns, firstX, restX, xx, xy } = equations;
  // Only where it is 0 throughout would the sum of squares stop the solver, which wants something left to explain.
  equations.yy = sumRows(work, response, weights) + Number.MIN_VALUE ** 0.25;
  for (let a = 0; a < columns; a += 1) {
    sumColumn(work, fixed[a]!, weights, firstX[a]!, restX[a]!);
    for (let b = 0; b <= a; b += 1) {
      xx[a * columns + b] = weightedProduct(weights, fixed[a]!, fixed[b]!);
      xx[b * columns + a] = xx[a * columns + b]!;
    }
    xy[a] = weightedProduct(weights, fixed[a]!, response);
  }
}

/** Fills what the equations hold of weights and responses by level; Σ weight × response². */
function sumRows(
  { equations, firstLevel, others, restLevel, meetEntry, crossEntry }: WorkingEquations,
  response: Float64Array,
  weights: Float64Array,
): number {
  const { first, firstWeight, firstY, restWeight, restY, meetWeight, crossWeight } = equations;
  for (const values of [firstWeight, firstY, restWeight, restY, meetWeight, crossWeight]) values.fill(0);
  const pairs = (others * (others - 1)) / 2;
  let yy = 0;
  for (let row = 0; row < response.length; row += 1) {
    const weight = weights[row]!;
    const weighted = weight * response[row]!;
    yy += weighted * response[row]!;
    if (first >= 0) {
      firstWeight[firstLevel[row]!]! += weight;
      firstY[firstLevel[row]!]! += weighted;
    }
    for (let at = row * others; at < (row + 1) * others; at += 1) {
      restWeight[restLevel[at]!]! += weight;
      restY[restLevel[at]!]! += weighted;
      meetWeight[meetEntry[at]!]! += weight;
    }
    for (let at = row * pairs; at < (row + 1) * pairs; at += 1) crossWeight[crossEntry[at]!]! += weight;
  }
  return yy;
}

/** Sums weight × value by level: Zᵀ of a row vector. */
export function sumColumn(
  { firstLevel, others, restLevel, equations }: WorkingEquations,
  values: Float64Array,
  weights: Float64Array,
  first: Float64Array,
  rest: Float64Array,
): void {
  first.fill(0);
  rest.fill(0);
  for (let row = 0; row < values.length; row += 1) {
    const value = weights[row]! * values[row]!;
    if (value === 0) continue;
    if (equations.first >= 0) first[firstLevel[row]!]! += value;
    for (let at = row * others; at < (row + 1) * others; at += 1) rest[restLevel[at]!]! += value;
  }
}
