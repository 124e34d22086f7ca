import type { Problem } from './csv/problems.ts';

/** A filed report whose counts are others since its play log was corrected: its opportunities before and after. */
export interface RecountedReport {
  game: string;
  observer: string;
  before: number;
  after: number;
}

export interface ImportOutcome {
  /** The kind of file, such as `plays`. */
  kind: string;
  fileName: string;
  /** Whether the file is in the database now. All of it or none. */
  applied: boolean;
  /** Rows read without a problem of their own. */
  rows: number;
  added: number;
  changed: number;
  unchanged: number;
  /** In the order of lines; the first `listedProblems` of them. */
  problems: Problem[];
  /** Problems beyond those listed. */
  moreProblems: number;
  /** Games whose play log is another now. */
  playLogsChanged: string[];
  /** Filed reports that were counted again with another result. */
  recounted: RecountedReport[];
}

export interface ImportedBy {
  conferenceId: string;
  /** The person who asked for it; null from the command line. */
  personId: string | null;
}
