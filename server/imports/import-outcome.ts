import type { Note } from './csv/notes.ts';
import type { Problem, ProblemGroup } from './csv/problems.ts';
import type { OpenQuestion } from './csv/questions.ts';
import type { FoundFile } from './csv/table-records.ts';

/** A filed report whose counts are others since its play log was corrected: its opportunities before and after. */
interface RecountedReport {
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
  /** Whether nothing is wrong with the file and nothing is left to answer. */
  fits: boolean;
  /** What only the person who made the file can say; nothing is imported until it is answered. */
  questions: OpenQuestion[];
  /** How the file was read, which was found out: its encoding and separator, or its sheet. */
  readAs: FoundFile;
  /** What is no error, but good to know: columns and lines that were skipped. */
  notes: Note[];
  /** Rows read without a problem of their own, but for those that say the same as an earlier one. */
  rows: number;
  added: number;
  changed: number;
  unchanged: number;
  /** In the order of lines; the first `listedProblems` of them. */
  problems: Problem[];
  /** Problems beyond those listed. */
  moreProblems: number;
  /** The problems by what is wrong, each with its lines; the first `listedProblems` groups. */
  problemGroups: ProblemGroup[];
  /** Games whose play log is another now. */
  playLogsChanged: string[];
  /** Filed reports that were counted again with another result. */
  recounted: RecountedReport[];
}
