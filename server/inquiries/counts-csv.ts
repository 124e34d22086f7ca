import { tableCsv } from '../web/csv-file.ts';
import { type CategoryCounts, outcomes } from './rules/season-counts.ts';

/** A season's counts as a table, one line a category. */
export const countsCsv = (counts: readonly CategoryCounts[]): string =>
  tableCsv(
    ['category', ...outcomes.map((outcome) => outcome.replaceAll(' ', '_')), 'all'],
    counts.map(({ category, by, all }) => [category, ...outcomes.map((outcome) => by[outcome]), all]),
  );
