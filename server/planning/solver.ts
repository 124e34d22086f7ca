import highsModule, { type Highs } from 'highs';
import type { LinearModel } from './packed-model.ts';

export interface SolveLimits {
  readonly seconds: number;
  /** Stop once objective - bound is at most this, in the objective's own unit. */
  readonly absoluteGap: number;
  /** A known plan to start from: columns and their values; the rest is filled in by the solver. */
  readonly start?: { readonly indices: readonly number[]; readonly values: readonly number[] };
}

export interface Solution {
  /** optimal: within the gap asked for. feasible: time ran out, the gap says how far off it may be. */
  readonly status: 'optimal' | 'feasible' | 'infeasible' | 'no answer in time';
  readonly values: Float64Array;
  readonly objective: number;
  /** No solution can be below this. */
  readonly bound: number;
  /** Of a model without whole-number columns: by how much at least the objective rises for each unit of a column at 0. */
  readonly reducedCosts?: Float64Array;
}

// The package's types describe its CommonJS face; the ES module's default export is the loader itself.
const loadHighs = highsModule as unknown as () => Promise<Highs>;
let loaded: Promise<Highs> | null = null;

/** The HiGHS solver (MIT licence), compiled to WebAssembly. It blocks its thread while it works. */
export async function solve(model: LinearModel, limits: SolveLimits): Promise<Solution> {
  loaded ??= loadHighs();
  const highs = await loaded;
  // A model without columns has nothing to decide; the solver would call it empty.
  if (model.cost.length === 0)
    return { status: 'optimal', values: new Float64Array(), objective: 0, bound: 0 };
  return highs.withModel(
    {
      numCols: model.cost.length,
      numRows: model.rowLower.length,
      colCost: model.cost,
      colLower: model.lower,
      colUpper: model.upper,
      rowLower: model.rowLower,
      rowUpper: model.rowUpper,
      integrality: Int32Array.from(model.whole, (whole) => (whole ? 1 : 0)),
      matrix: {
        format: 'csr',
        numRows: model.rowLower.length,
        numCols: model.cost.length,
        starts: model.rowStart,
        indices: model.index,
        values: model.value,
      },
    },
    (run) => {
      run.options.set({
        output_flag: false,
        time_limit: limits.seconds,
        mip_rel_gap: 0,
        mip_abs_gap: limits.absoluteGap,
        random_seed: 1,
      });
      if (limits.start) run.setSolution(limits.start);
      run.run();
      const { modelStatus } = highs.constants;
      const status = run.getModelStatus();
      const nothing = { values: new Float64Array(), objective: Infinity, bound: -Infinity };
      if (status === modelStatus.infeasible || status === modelStatus.unboundedOrInfeasible)
        return { status: 'infeasible', ...nothing } as Solution;
      const feasible = Number(run.info.get('primal_solution_status')) === 2;
      if (!feasible) return { status: 'no answer in time', ...nothing } as Solution;
      const { colValue, colDual } = run.getSolution();
      const optimal = status === modelStatus.optimal;
      const answer = {
        status: optimal ? 'optimal' : 'feasible',
        values: Float64Array.from(colValue),
        objective: run.getObjectiveValue(),
      } as const;
      if (model.whole.includes(true)) return { ...answer, bound: Number(run.info.get('mip_dual_bound')) };
      // A plain linear program, whose best answer is its own bound.
      return {
        ...answer,
        bound: optimal ? answer.objective : -Infinity,
        ...(optimal && colDual ? { reducedCosts: Float64Array.from(colDual) } : {}),
      };
    },
  ) as Solution;
}
