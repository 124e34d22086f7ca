import { type Combination, type EffectsFit, predict } from './prediction.ts';
import { invertSmall } from './small-matrix.ts';

/** A row of a fitted model, as leaving groups out takes it. */
interface FittedRow {
  /** What its linear predictor is made of, offset aside. */
  combination: Combination;
  /** 1 over the row's own variance: weight ÷ σ², or the information that a count gives. */
  information: number;
  /** information × (response − fitted), of the working response where the model is of counts. */
  score: number;
  /** Rows of one group are left out together. */
  group: string;
}

/** A row as predicted from all groups but its own, the variances taken as known. */
interface HeldOut {
  /** What the row's (working) response lies above its prediction. */
  residual: number;
  /** Variance of that residual: the row's own and that of the prediction. */
  variance: number;
}

/**
 * Leaves one group of rows out at a time, without fitting anew. With P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹ the residual of a
 * group predicted from all others is (P_gg)⁻¹(Py)_g, and (P_gg)⁻¹ is its covariance (Haslett and Hayes 1998,
 * "Residuals for the linear model with general covariance structure", Journal of the Royal Statistical Society B 60(1)).
 * Of counts it is one Newton step from the fit of all.
 *
 * @returns one for each row, in order; null where the others say nothing of the row's group
 */
export function leaveGroupsOut(fit: EffectsFit, rows: readonly FittedRow[]): (HeldOut | null)[] {
  const out = new Array<HeldOut | null>(rows.length).fill(null);
  const groups = new Map<string, number[]>();
  for (const [row, { group }] of rows.entries()) {
    const members = groups.get(group);
    if (members) members.push(row);
    else groups.set(group, [row]);
  }
  for (const members of groups.values()) {
    const size = members.length;
    const { covariance } = predict(
      fit,
      members.map((row) => rows[row]!.combination),
    );
    // P_gg = W − W A C⁻¹ Aᵀ W, and beside it W A C⁻¹ Aᵀ W's right side.
    const projected = new Float64Array(size * size);
    for (let i = 0; i < size; i += 1) {
      const own = rows[members[i]!]!.information;
      for (let j = 0; j < size; j += 1) {
        projected[i * size + j] =
          (i === j ? own : 0) - own * covariance[i * size + j]! * rows[members[j]!]!.information;
      }
    }
    const inverse = invertSmall(projected, size);
    if (!inverse) continue;
    for (let i = 0; i < size; i += 1) {
      let residual = 0;
      for (let j = 0; j < size; j += 1) residual += inverse.inverse[i * size + j]! * rows[members[j]!]!.score;
      out[members[i]!] = { residual, variance: inverse.inverse[i * size + i]! };
    }
  }
  return out;
}
