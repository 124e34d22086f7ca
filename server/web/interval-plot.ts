import * as Plot from '@observablehq/plot';
import { tickStep, ticks } from 'd3-array';
import { parseHTML } from 'linkedom';

/** A scale that several small plots of a table share. */
interface PlotScale {
  low: number;
  high: number;
}

interface IntervalMark {
  low: number;
  high: number;
  value: number;
  /** A second figure, drawn hollow: the raw grade beside the adjusted one. */
  other?: number | null;
}

const width = 260;
/** Of the style sheet, so that drawings turn dark with the page. */
const ink = 'var(--pine)';
const soft = 'var(--plot-soft)';
const line = 'var(--plot-line)';
const ground = 'var(--sheet)';

/** The scale that takes in all marks, on whole steps, and not past `most`. */
export function plotScale(marks: readonly IntervalMark[], most = Number.POSITIVE_INFINITY): PlotScale {
  const values = marks.flatMap(({ low, high, other }) => [low, high, other ?? low]);
  if (values.length === 0) return { low: 0, high: 1 };
  const least = Math.min(...values);
  const greatest = Math.min(most, Math.max(...values));
  const step = tickStep(least, Math.max(greatest, least + 0.1), 4);
  const low = Math.floor(least / step) * step;
  const high = Math.min(most, Math.ceil(greatest / step) * step);
  return high > low ? { low, high } : { low: low - step, high: low + step };
}

/** One row's figure with its interval, as SVG for a table cell. `words` say the same to who cannot see it. */
export function intervalPlot(mark: IntervalMark, scale: PlotScale, words: string, zero?: number): string {
  const clip = (value: number) => Math.min(scale.high, Math.max(scale.low, value));
  const marks: Plot.Markish[] = [
    Plot.gridX({ ticks: 4, stroke: line, strokeOpacity: 1 }),
    Plot.ruleY([mark], { x1: clip(mark.low), x2: clip(mark.high), y: 0, stroke: ink, strokeWidth: 3 }),
    Plot.tickX([clip(mark.low), clip(mark.high)], { stroke: ink, strokeWidth: 2, inset: 7 }),
    Plot.dot([mark], { x: clip(mark.value), y: 0, r: 5, fill: ink, stroke: ground, strokeWidth: 1.5 }),
  ];
  if (zero !== undefined) marks.splice(1, 0, Plot.ruleX([zero], { stroke: soft, strokeDasharray: '3,3' }));
  if (typeof mark.other === 'number') {
    marks.push(Plot.dot([mark], { x: clip(mark.other), y: 0, r: 4.5, stroke: soft, strokeWidth: 2 }));
  }
  return svg({ height: 28, marginTop: 2, marginBottom: 2, x: { axis: null }, marks }, scale, words);
}

/** The scale itself, for the head of the column: of more than four steps every other has its figure, the last one too. */
export function axisPlot(scale: PlotScale): string {
  const steps = ticks(scale.low, scale.high, 4);
  const decimals = Math.max(0, -Math.floor(Math.log10(tickStep(scale.low, scale.high, 4))));
  const named = steps.filter((_, at) => steps.length <= 4 || (steps.length - 1 - at) % 2 === 0);
  return svg(
    {
      height: 22,
      marginTop: 20,
      marginBottom: 1,
      marks: [
        Plot.axisX(named, {
          ...{ anchor: 'top', tickSize: 3, fontSize: 12, color: 'var(--soft)' },
          tickFormat: (value: number) => value.toFixed(decimals).replace('-', '\u2212'),
        }),
      ],
    },
    scale,
    null,
  );
}

function svg(options: Plot.PlotOptions, scale: PlotScale, words: string | null): string {
  const { document } = parseHTML('<!doctype html><html><body></body></html>');
  const { x, ...rest } = options;
  const plot = Plot.plot({
    document: document as unknown as Plot.PlotOptions['document'],
    width,
    marginLeft: 18,
    marginRight: 18,
    y: { axis: null, domain: [-1, 1] },
    ...rest,
    x: { domain: [scale.low, scale.high], label: null, ...x },
  });
  // The content security policy obeys no style written into a page; the sheet has what is needed.
  for (const style of plot.querySelectorAll('style')) style.remove();
  for (const mark of plot.querySelectorAll('[aria-label]')) mark.removeAttribute('aria-label');
  plot.setAttribute('class', 'interval-plot');
  plot.removeAttribute('style');
  if (words === null) plot.setAttribute('aria-hidden', 'true');
  else {
    plot.setAttribute('role', 'img');
    plot.setAttribute('aria-label', words);
  }
  return plot.outerHTML;
}
