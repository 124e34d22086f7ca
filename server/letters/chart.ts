import { formatGrade } from './wording.ts';

/**
 * Small descriptions of the plots a letter may hold: figures in, no coordinates. `pdf/paint-chart.ts` draws
 * them as vectors; `describeChart` says in words what a reader who can't see them needs.
 */
export type Chart = IntervalChart | WeeksChart | ChancesChart | IntervalsChart;

/** One grade with its interval, on the scale 0 to 100, over the middle half of the position. */
export interface IntervalChart {
  kind: 'interval';
  value: number;
  low: number;
  high: number;
  /** The interval's level in percent, for example 90. */
  level: number;
  peers: { lowerQuartile: number; median: number; upperQuartile: number; label: string } | null;
}

/** One grade a week; null where the official had no graded game. */
export interface WeeksChart {
  kind: 'weeks';
  weeks: { week: number; grade: number | null }[];
  /** The season's own grade, drawn as a level line. */
  level: number | null;
}

/** Every opportunity for one duty, game by game, each shown as met or missed. */
export interface ChancesChart {
  kind: 'chances';
  games: { label: string; opportunities: number; misses: number }[];
}

/** Several grades with their intervals under one another, for the coordinator. */
export interface IntervalsChart {
  kind: 'intervals';
  level: number;
  rows: { label: string; value: number; low: number; high: number }[];
}

/** The chart with each of its words passed through `text`. */
export function relabelled(chart: Chart, text: (label: string) => string): Chart {
  switch (chart.kind) {
    case 'interval':
      return chart.peers ? { ...chart, peers: { ...chart.peers, label: text(chart.peers.label) } } : chart;
    case 'intervals':
      return { ...chart, rows: chart.rows.map((row) => ({ ...row, label: text(row.label) })) };
    case 'chances':
      return { ...chart, games: chart.games.map((game) => ({ ...game, label: text(game.label) })) };
    case 'weeks':
      return chart;
  }
}

/** The plot in words: alternative text for screen readers. */
export function describeChart(chart: Chart): string {
  switch (chart.kind) {
    case 'interval': {
      const peers = chart.peers
        ? ` The middle half of ${chart.peers.label} lies between ${formatGrade(chart.peers.lowerQuartile)} and ${formatGrade(chart.peers.upperQuartile)}, its median at ${formatGrade(chart.peers.median)}.`
        : '';
      return `Grade ${formatGrade(chart.value)} on a scale of 0 to 100, ${chart.level}% interval ${formatGrade(chart.low)} to ${formatGrade(chart.high)}.${peers}`;
    }
    case 'intervals': {
      const rows = chart.rows.map(
        ({ label, value, low, high }) =>
          `${label} ${formatGrade(value)} (${formatGrade(low)} to ${formatGrade(high)})`,
      );
      return `Grades with their ${chart.level}% intervals: ${rows.join(', ') || 'none yet'}.`;
    }
    case 'weeks': {
      const weeks = chart.weeks.map(({ week, grade }) =>
        grade === null ? `week ${week} no graded game` : `week ${week} ${formatGrade(grade)}`,
      );
      return `Grade by week: ${weeks.join(', ') || 'no weeks yet'}.`;
    }
    case 'chances': {
      const games = chart.games.map(
        ({ label, opportunities, misses }) => `${label} ${misses} of ${opportunities}`,
      );
      return `Missed by game: ${games.join(', ') || 'no games yet'}.`;
    }
  }
}
