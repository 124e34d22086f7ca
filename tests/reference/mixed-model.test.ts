import { describe, expect, test } from 'vitest';
import { fitMixedModel, type MixedModelRows } from '../../server/grading/mixed-model.ts';
import { dyestuff, dyestuff2, longForm, penicillin } from './variance-components.ts';

function fitted(rows: MixedModelRows) {
  const result = fitMixedModel(rows);
  if (!result.fitted) throw new Error(result.reason);
  return result;
}

// Expected values: R package lme4 1.1-31, function lmer, to the digits it prints.
describe('variance components by restricted maximum likelihood', () => {
  test('one factor: Dyestuff, Yield ~ 1 + (1 | Batch)', () => {
    const { values, group } = longForm(dyestuff);
    const model = fitted({ response: values, factors: [{ name: 'batch', levels: group }] });
    expect(Math.sqrt(model.factors[0]!.variance)).toBeCloseTo(42.0006, 3);
    expect(Math.sqrt(model.residualVariance)).toBeCloseTo(49.5101, 4);
    expect(model.fixed[0]!.estimate).toBeCloseTo(1527.5, 8);
    expect(model.criterion).toBeCloseTo(319.654276842, 8);
  });

  test('one factor whose variance is at its boundary: Dyestuff2', () => {
    const { values, group } = longForm(dyestuff2);
    const model = fitted({ response: values, factors: [{ name: 'batch', levels: group }] });
    expect(model.factors[0]!.variance).toBe(0);
    expect(Math.sqrt(model.residualVariance)).toBeCloseTo(3.7157, 4);
    expect(model.fixed[0]!.estimate).toBeCloseTo(5.6656, 8);
    expect(model.criterion).toBeCloseTo(161.828277812, 8);
    expect(model.notes).toEqual(['batch: no variation beyond chance was found']);
  });

  test('two crossed factors: Penicillin, diameter ~ 1 + (1 | plate) + (1 | sample)', () => {
    const { values, group, index } = longForm(penicillin);
    const model = fitted({
      response: values,
      factors: [
        { name: 'plate', levels: group },
        { name: 'sample', levels: index.map((i) => 'ABCDEF'[i]!) },
      ],
    });
    expect(Math.sqrt(model.factors[0]!.variance)).toBeCloseTo(0.8467, 4);
    expect(Math.sqrt(model.factors[1]!.variance)).toBeCloseTo(1.9316, 4);
    expect(Math.sqrt(model.residualVariance)).toBeCloseTo(0.54992, 5);
    expect(model.fixed[0]!.estimate).toBeCloseTo(22.97222222, 8);
    expect(model.criterion).toBeCloseTo(330.860589, 6);
    // lme4 stops its search at a relative change of 1e-6 or so in the standard deviations.
    const effects = [2.1870584, -1.01047635, 1.93789985, -0.09689499, -0.01384214, -3.00374477];
    for (const [i, effect] of effects.entries()) {
      expect(model.factors[1]!.effects[i]).toBeCloseTo(effect, 5);
    }
  });
});
