import type { Chart } from './chart.ts';
import type { LetterData } from './letter-data.ts';

/**
 * The plots a template may name as `![](chart:NAME)`: `grade`, `weeks` and, for the first, second, ...
 * development point, `development-1`, `development-2`, ... A plot without figures isn't there, and an image
 * that names it prints nothing.
 */
export function chartsOfLetter(data: LetterData): Map<string, Chart> {
  const charts = new Map<string, Chart>();
  const { adjusted, low, high, level } = data.grade;
  const { lowerQuartile, middle, upperQuartile } = data.standing;
  if (adjusted !== null && low !== null && high !== null) {
    const peers =
      lowerQuartile !== null && middle !== null && upperQuartile !== null
        ? { lowerQuartile, median: middle, upperQuartile, label: `${data.official.position}s` }
        : null;
    charts.set('grade', { kind: 'interval', value: adjusted, low, high, level, peers });
  }
  if (data.weeks.some((week) => week.grade !== null)) {
    charts.set('weeks', { kind: 'weeks', weeks: data.weeks, level: data.grade.raw });
  }
  data.development.forEach((point, index) => {
    if (point.byGame.length > 0)
      charts.set(`development-${index + 1}`, { kind: 'chances', games: point.byGame });
  });
  return charts;
}

/** The chart names a template may write, as a pattern for the template check. */
export const letterChartNames = /^(grade|weeks|development-(\d+|\{\{.*\}\}))$/;
