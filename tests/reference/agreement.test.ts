import { describe, expect, test } from 'vitest';
import type { Agreement } from '../../server/grading/agreement/agreement.ts';
import { intraclassCorrelations } from '../../server/grading/agreement/intraclass.ts';
import { weightedKappa } from '../../server/grading/agreement/kappa.ts';

function known(agreement: Agreement) {
  if (agreement.value === null) throw new Error(agreement.reason);
  return agreement;
}

describe('agreement coefficients in the literature', () => {
  // Shrout and Fleiss (1979), table 2: six targets, four judges. The paper prints two digits; these are
  // from R package psych 2.2.9, ICC(table, lmer = FALSE).
  test('six intraclass correlations with their 95% intervals', () => {
    const forms = intraclassCorrelations([
      [9, 2, 5, 8],
      [6, 1, 3, 2],
      [8, 4, 6, 8],
      [7, 1, 2, 6],
      [10, 5, 6, 9],
      [6, 2, 4, 7],
    ]);
    const expected = [
      [forms.oneWay.single, 0.165741768405, -0.1329323248748, 0.722560062328],
      [forms.random.single, 0.289763779528, 0.0187865133747, 0.761084369649],
      [forms.fixed.single, 0.714840714841, 0.3424647650339, 0.945858259955],
      [forms.oneWay.average, 0.442797133679, -0.8844421552381, 0.912415420341],
      [forms.random.average, 0.620050547599, 0.0711368153025, 0.927232040168],
      [forms.fixed.average, 0.909315542377, 0.6756747138163, 0.985891678169],
    ] as const;
    for (const [form, value, low, high] of expected) {
      expect(known(form).value).toBeCloseTo(value, 10);
      expect(known(form).low).toBeCloseTo(low, 6);
      expect(known(form).high).toBeCloseTo(high, 6);
    }
  });

  // Cohen (1968), table 1: shares of 200 diagnoses and his disagreement weights; he prints .492 and .348.
  test('kappa and weighted kappa', () => {
    const shares = [
      [0.44, 0.07, 0.09],
      [0.05, 0.2, 0.05],
      [0.01, 0.03, 0.06],
    ];
    const disagreement = [
      [0, 1, 3],
      [1, 0, 6],
      [3, 6, 0],
    ];
    const weights = disagreement.map((row) => row.map((value) => 1 - value / 6));
    const plain = known(weightedKappa(shares, {}, 200));
    expect(plain.value).toBeCloseTo(0.492, 3);
    expect(plain.value).toBeCloseTo(0.49152542372881, 12);
    // R package psych 2.2.9, cohen.kappa.
    expect(plain.low).toBeCloseTo(0.3915637021, 8);
    expect(plain.high).toBeCloseTo(0.5914871454, 8);
    expect(known(weightedKappa(shares, { weights }, 200)).value).toBeCloseTo(0.348, 3);
  });

  // Fleiss, Cohen and Everitt (1969), their example. Unweighted: R package psych 2.2.9, cohen.kappa.
  // Weighted: variance 0.003248302894 by the delta method on the multinomial, R package numDeriv.
  test('large-sample interval of weighted kappa', () => {
    const table = [
      [106, 10, 4],
      [22, 28, 10],
      [2, 12, 6],
    ];
    const weights = [
      [1, 0, 0.4444],
      [0, 1, 0.6667],
      [0.4444, 0.6667, 1],
    ];
    const plain = known(weightedKappa(table));
    expect([plain.value, plain.low, plain.high].map((x) => x.toFixed(8))).toEqual([
      '0.42857143',
      '0.32329979',
      '0.53384306',
    ]);
    const weighted = known(weightedKappa(table, { weights }));
    expect([weighted.value, weighted.low, weighted.high].map((x) => x.toFixed(8))).toEqual([
      '0.50706996',
      (0.507069964867 - 1.95996398454 * Math.sqrt(0.003248302894)).toFixed(8),
      (0.507069964867 + 1.95996398454 * Math.sqrt(0.003248302894)).toFixed(8),
    ]);
  });
});
