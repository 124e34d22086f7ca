import type { Missing } from './filing/completeness.ts';

/** The report cannot be filed yet; `missing` says what to put right. */
export class ReportIncomplete extends Error {
  override name = 'ReportIncomplete';
  constructor(readonly missing: readonly Missing[]) {
    super(`The report is not complete: ${missing.map((item) => item.message).join(' ')}`);
  }
}

export class ReportNotFound extends Error {
  override name = 'ReportNotFound';
  constructor() {
    super('There is no such report.');
  }
}
