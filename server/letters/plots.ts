import type { Chart } from './chart.ts';
import { oneLine } from './escape-markdown.ts';
import {
  gameReportDataSchema,
  type LetterData,
  letterDataSchema,
  type SeasonBookData,
  seasonBookDataSchema,
  type TemplateKind,
} from './letter-data.ts';
import type { TemplateContract } from './template-check.ts';

/**
 * The plots a template may name as `![](chart:NAME)`: `grade`, `weeks` and, for the first, second, ... duty to work
 * on, `work-on-1`, `work-on-2`, ...; for development points `development-1`, ... A plot without figures isn't there, and an image
 * that names it prints nothing.
 */
export function plotsOfLetter(data: LetterData): Map<string, Chart> {
  const charts = new Map<string, Chart>();
  const { adjusted, low, high, level } = data.grade;
  const { lowerQuartile, middle, upperQuartile } = data.standing;
  if (adjusted !== null && low !== null && high !== null) {
    const peers =
      lowerQuartile !== null && middle !== null && upperQuartile !== null
        ? { lowerQuartile, median: middle, upperQuartile, label: 'your position' }
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
  data.toWorkOn.forEach((duty, index) => {
    if (duty.byGame.length > 0) charts.set(`work-on-${index + 1}`, { kind: 'chances', games: duty.byGame });
  });
  return charts;
}

/** The book's plots: `position-1`, ... with every official of the position, `weeks-1-2` for its second official. */
export function plotsOfSeasonBook(data: SeasonBookData): Map<string, Chart> {
  const charts = new Map<string, Chart>();
  data.positions.forEach(({ officials }, position) => {
    const rows = officials.flatMap(({ name, adjusted, low, high }) =>
      adjusted === null || low === null || high === null
        ? []
        : [{ label: oneLine(name), value: adjusted, low, high }],
    );
    if (rows.length > 0)
      charts.set(`position-${position + 1}`, { kind: 'intervals', level: data.level, rows });
    officials.forEach(({ weeks, raw }, official) => {
      if (weeks.some(({ grade }) => grade !== null))
        charts.set(`weeks-${position + 1}-${official + 1}`, { kind: 'weeks', weeks, level: raw });
    });
  });
  return charts;
}

const counted = String.raw`(\d+|\{\{.*\}\})`;

const ofLetters = {
  data: letterDataSchema,
  charts: new RegExp(`^(grade|weeks|(work-on|development)-${counted})$`),
  forEverybody: [
    { field: 'toWorkOn', what: 'the three duties that cost each official most, with plays and guidance' },
    { field: 'wentWell', what: 'what went well' },
    { field: 'calls', what: 'how many calls were right, wrong and missed' },
  ],
};

/** What a template of each kind may name. */
export const templateContracts: Readonly<Record<TemplateKind, TemplateContract>> = {
  'mid-season': ofLetters,
  'end-of-season': ofLetters,
  'game-report': {
    data: gameReportDataSchema,
    charts: /^(?!)/,
    forEverybody: [
      { field: 'calls', what: 'how many calls were right, wrong and missed' },
      { field: 'takeAlong', what: 'the duty that cost most in the game, with guidance' },
    ],
  },
  'season-book': {
    data: seasonBookDataSchema,
    charts: new RegExp(`^(position-${counted}|weeks-${counted}-${counted})$`),
    forEverybody: [],
  },
};
