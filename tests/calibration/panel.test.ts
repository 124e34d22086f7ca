import { expect, test } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { type PanelMark, panelOf } from '../../server/grading/agreement/panel.ts';

const findings = { d: 'met', m: 'not met', '-': 'not seen' } as const;
/** A row for each clip, a letter for each observer: done, missed, not seen. */
const marksOf = (duty: string, rows: readonly string[]): PanelMark[] =>
  rows.flatMap((row, clip) =>
    [...row].map((letter, at) => ({
      clip: clip + 1,
      duty,
      observer: `o${at}`,
      finding: findings[letter as 'd'],
    })),
  );

test('of two observers it is Cohen’s kappa, as his worked tables have it', () => {
  // 20 both met, 15 both missed, 5 and 10 the one or the other: observed .70, by chance .50, kappa .40; computed by hand
  // from Cohen (1960), "A coefficient of agreement for nominal scales", formula (1).
  const rows = ['dd', 'mm', 'dm', 'md'].flatMap((row, at) => new Array([20, 15, 5, 10][at]!).fill(row));
  const { duties, overall } = panelOf(marksOf('eyes', rows));
  expect(duties[0]!.agreement.value).toBeCloseTo(0.4, 12);
  expect(overall).toEqual(duties[0]!.agreement);
});

test('of more it is Krippendorff’s alpha, what could not be seen left out', () => {
  // Krippendorff (2011), "Computing Krippendorff's Alpha-Reliability", section A: two observers, binary data, alpha .095
  // (from memory); here with a third who could tell nothing, so that the same pairs count.
  const first = '0100000010';
  const second = '1110010000';
  const rows = [...first].map(
    (value, at) => `${value === '1' ? 'm' : 'd'}${second[at] === '1' ? 'm' : 'd'}-`,
  );
  expect(panelOf(marksOf('eyes', rows)).overall.value).toBeCloseTo(0.095, 3);
});

test('seven to five is a split, nine to three is none, and four are the fewest', () => {
  const { units } = panelOf(
    marksOf('eyes', ['dddddddmmmmm', 'dddddddddmmm', 'dddddddd-mmm', 'ddm---------', 'ddmm--------']),
  );
  expect(units.map(({ met, notMet, split }) => [met, notMet, split])).toEqual([
    [7, 5, true],
    [9, 3, false],
    [8, 3, false],
    [2, 1, false],
    [2, 2, true],
  ]);
});

test('keenness and standing alone are counted against the others only', () => {
  const { observers } = panelOf(marksOf('eyes', ['mmmd', 'mddd', 'ddd-', 'mmd-']));
  const of = (observer: string) => observers.find((one) => one.observer === observer)!;
  // o0: others missed by most on clip 1; nobody else missed on clips 2 and 3.
  expect(of('o0').keen).toMatchObject({ some: 1, of: 1 });
  expect(of('o0').alone).toMatchObject({ some: 1, of: 2 });
  expect(of('o3')).toMatchObject({ judged: 2, notSeen: 2, missed: 0 });
  // Who could not see what most others saw was not keen there.
  expect(of('o3').keen).toMatchObject({ some: 0, of: 2 });
});

// Twelve observers, thresholds and not log-odds, ten clips of two duties: the strictest and mildest are told in order, and an
// interval that leaves out one half is right about the side. Bounds for fixed seeds, both ways.
test('who is stricter is told in order, with intervals that few clips leave wide', () => {
  let held = 0;
  let all = 0;
  let width = 0;
  for (let seed = 1; seed <= 12; seed++) {
    const draws = new Draws(seed, 'panel');
    const bar = Array.from({ length: 12 }, () => draws.normal(0, 0.5));
    const marks: PanelMark[] = [];
    for (let clip = 1; clip <= 10; clip++)
      for (const duty of ['a', 'b']) {
        const poor = draws.normal(0, 1.2);
        for (const [at, own] of bar.entries())
          marks.push({
            clip,
            duty,
            observer: `o${at}`,
            finding: poor + draws.normal(0, 0.7) > own ? 'not met' : 'met',
          });
      }
    const mean = bar.reduce((sum, own) => sum + own, 0) / bar.length;
    const { observers } = panelOf(marks);
    for (const { observer, severity } of observers) {
      if (!severity) continue;
      // A chance at which the panel is even, and the noise of a single look as a logistic has it.
      const truth = 100 / (1 + Math.exp((1.702 / 0.7) * (bar[Number(observer.slice(1))]! - mean)));
      all += 1;
      width += severity.high - severity.low;
      if (truth >= severity.low && truth <= severity.high) held += 1;
    }
  }
  expect(held / all).toBeGreaterThan(0.82);
  expect(held / all).toBeLessThan(0.98);
  expect(width / all).toBeGreaterThan(25);
});

test('nobody, one observer and a panel that agrees wholly give reasons, not figures', () => {
  expect(panelOf([]).observers).toEqual([]);
  const alike = panelOf(marksOf('eyes', ['ddd', 'ddd']));
  expect(alike.overall.value).toBeNull();
  expect(alike.observers[0]!.severity).toBeNull();
});
