import { tableCsv } from '../web/csv-file.ts';
import type { DutyOutcome, ProgramOutcome } from './program-outcome.ts';

const columns: Record<string, (row: DutyOutcome) => string | number> = {
  duty: (row) => row.title,
  missed_before: (row) => row.followUp.before.events,
  chances_before: (row) => row.followUp.before.opportunities,
  rate_before: (row) => row.followUp.before.rate,
  low_before: (row) => row.followUp.before.interval.low,
  high_before: (row) => row.followUp.before.interval.high,
  missed_after: (row) => row.followUp.after.events,
  chances_after: (row) => row.followUp.after.opportunities,
  rate_after: (row) => row.followUp.after.rate,
  low_after: (row) => row.followUp.after.interval.low,
  high_after: (row) => row.followUp.after.interval.high,
  games_after: (row) => row.followUp.after.games,
  rate_had_nothing_changed: (row) => row.followUp.unchangedRate ?? '',
  verdict: (row) => row.followUp.verdict,
  p_fewer: (row) => row.followUp.pFewer,
  p_more: (row) => row.followUp.pMore,
  p_asked_for: (row) => row.followUp.level,
  defined_otherwise_after: (row) => (row.changed ? 'yes' : 'no'),
};

/** A program's duties before and after, as a table. */
export const outcomeCsv = ({ duties }: ProgramOutcome): string =>
  tableCsv(
    Object.keys(columns),
    duties.map((row) => Object.values(columns).map((of) => of(row))),
  );
