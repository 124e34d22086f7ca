import type { Column, FileFormat, RowOf } from './format.ts';
import { rearmed } from './formula.ts';
import { type Headings, readHeadings } from './headings.ts';
import { NoteList } from './notes.ts';
import type { ProblemList } from './problems.ts';
import {
  type Answer,
  type Answers,
  type Asking,
  type Meanings,
  OpenQuestions,
  questions,
} from './questions.ts';
import { type FoundFile, tableRecords } from './table-records.ts';
import { UnreadableFile } from './unreadable.ts';

interface ReadRow<Row> {
  /** The line on which the row begins, counted from 1. */
  line: number;
  row: Row;
  /** The columns that the file has; one that was left out is null in every row. The same object for each row. */
  present: ReadonlySet<string>;
}

/** What is found out about a file while it is read. */
export class Reading {
  readonly notes = new NoteList();
  /** What was left open; rows that it is about are not handed on. */
  readonly open = new OpenQuestions();
  /** What was answered for this file, or what its texts settle. */
  readonly answers: Answers;

  constructor(answers: Answers = {}) {
    this.answers = answers;
  }

  found: FoundFile = { form: 'text', encoding: 'UTF-8', byteOrderMark: false, separator: 'comma' };
}

/** A text that can be read in more than one way, by the answer to its question; undefined when that is not known. */
function readAsked(
  column: Column,
  asking: Asking,
  meanings: Meanings,
  { text, line }: { text: string; line: number },
  problems: ProblemList,
  { answers, open, notes }: Reading,
): unknown {
  const answer: Answer | undefined = answers[asking.question];
  if (answer === undefined) {
    open.add(asking.question, text, line, (each) => (each in meanings ? asking.show(meanings[each]) : ''));
    return undefined;
  }
  const words = (questions[asking.question].answers as Partial<Record<Answer, string>>)[answer] ?? answer;
  if (!(answer in meanings)) {
    const problem = `This cannot be read as the others are: ${words.toLowerCase()}.`;
    problems.add({ line, column: column.heading, value: text, problem, fix: column.fix });
    return null;
  }
  notes.addFirst(
    asking.question,
    `${words}, as in “${text}”, which was read as ${asking.show(meanings[answer])}.`,
    line,
  );
  return meanings[answer];
}

/** Cells repeat: "none", "1", "head linesman". A column remembers this many short texts and what they mean. */
const remembered = 500;
const longestRemembered = 40;

function readCell(
  column: Column,
  cell: string,
  line: number,
  problems: ProblemList,
  memory: Map<string, unknown>,
  reading: Reading,
): unknown {
  const known = memory.get(cell);
  if (known !== undefined) return known;
  const trimmed = rearmed(cell.trim());
  if (trimmed === '') {
    if (!column.mayBeEmpty) {
      problems.add({
        line,
        column: column.heading,
        value: '',
        problem: 'The cell is empty.',
        fix: column.fix,
      });
    }
    return null;
  }
  const meanings = column.asking?.meanings(trimmed);
  if (column.asking !== undefined && meanings !== undefined)
    return readAsked(column, column.asking, meanings, { text: trimmed, line }, problems, reading);
  const parsed = column.schema.safeParse(trimmed);
  if (parsed.success) {
    if (memory.size < remembered && cell.length <= longestRemembered) memory.set(cell, parsed.data);
    return parsed.data;
  }
  const reason = parsed.error.issues[0]?.message ?? 'cannot be read';
  problems.add({
    line,
    column: column.heading,
    value: trimmed,
    problem: `This ${reason}.`,
    fix: column.fix,
  });
  return null;
}

const separatorInWords = (found: FoundFile) =>
  found.form === 'text' && found.separator !== 'comma' ? `a ${found.separator}` : 'a comma';

const isBlank = (cell: string) => cell.trim() === '';

/** Tells which columns are not read. One without a heading is only told when it holds something. */
function tellSkipped({ skipped }: Headings, format: FileFormat, notes: NoteList): void {
  for (const { heading, near } of skipped) {
    if (heading === '') continue;
    notes.add(
      `The column "${heading}" was skipped: ${format.name} has no such column.${
        near === undefined ? '' : ` If "${near}" is meant, rename it.`
      }`,
    );
  }
}

/** The cells of a line, one for each heading; spreadsheets add empty ones behind the last. */
function fitted(cells: string[], width: number): string[] | undefined {
  if (cells.length === width) return cells;
  if (cells.length > width && cells.slice(width).every(isBlank)) return cells.slice(0, width);
  return undefined;
}

/**
 * Reads a table of this format row by row, never the whole of it: separated values (RFC 4180) in an encoding and with
 * a separator that are found out and told to `reading`. Rows without a problem are yielded; every problem goes to
 * `problems` and reading goes on, except past a broken quotation, where what follows can't be told apart.
 *
 * Spaces around a value are dropped. An empty cell of an optional column is null. Empty lines are skipped, and so are
 * columns that the format does not know, with a note.
 */
export async function* readRows<C extends FileFormat['columns']>(
  source: AsyncIterable<Uint8Array>,
  format: FileFormat<C>,
  problems: ProblemList,
  reading: Reading = new Reading(),
): AsyncGenerator<ReadRow<RowOf<C>>> {
  const columns = format.columns as Readonly<Record<string, Column>>;
  const plainFormat = format as unknown as FileFormat;
  const records = tableRecords(source, plainFormat, (found) => {
    reading.found = found;
  });
  let headings: Headings | undefined;
  let present: ReadonlySet<string> = new Set();
  let memories: Map<string, unknown>[] = [];
  try {
    for await (const { line, cells } of records) {
      if (cells.every(isBlank)) continue;
      if (headings === undefined) {
        headings = readHeadings(cells, line, plainFormat, problems);
        if (headings === undefined) return;
        tellSkipped(headings, plainFormat, reading.notes);
        present = new Set(headings.names.filter((name) => name !== undefined));
        memories = headings.names.map(() => new Map());
        continue;
      }
      const { names } = headings;
      const fit = fitted(cells, names.length);
      if (fit === undefined) {
        problems.add({
          line,
          column: '',
          value: cells.join(',').slice(0, 40),
          problem: `The line has ${cells.length} values where the headings have ${names.length}.`,
          fix: `Give each line one value per column. A value with ${separatorInWords(reading.found)} in it must be in double quotes.`,
        });
        continue;
      }
      const before = problems.count;
      let open = false;
      const row: Record<string, unknown> = {};
      for (const name of Object.keys(columns)) row[name] = null;
      for (let at = 0; at < names.length; at += 1) {
        const name = names[at];
        if (name === undefined) continue;
        row[name] = readCell(
          columns[name] as Column,
          fit[at] ?? '',
          line,
          problems,
          memories[at] as Map<string, unknown>,
          reading,
        );
        open ||= row[name] === undefined;
      }
      if (open) continue;
      for (const { at, heading } of headings.skipped) {
        if (heading === '' && !isBlank(fit[at] ?? ''))
          reading.notes.add(`Column ${at + 1} has no heading and was skipped, though it holds values.`, line);
      }
      if (problems.count === before && format.check !== undefined) {
        for (const found of format.check(row as RowOf<C>)) {
          const at = names.indexOf(found.column);
          problems.add({
            line,
            column: columns[found.column]?.heading ?? found.column,
            value: at === -1 ? '' : (fit[at] ?? '').trim(),
            problem: found.problem,
            fix: found.fix,
          });
        }
      }
      if (problems.count === before) yield { line, row: row as RowOf<C>, present };
    }
    if (headings === undefined) {
      problems.add({
        line: 0,
        column: '',
        value: '',
        problem: 'The file is empty.',
        fix: `The first line must hold the headings: ${Object.values(columns)
          .map((column) => column.heading)
          .join(', ')}.`,
      });
    }
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
    problems.add({ line: error.line, column: '', value: '', problem: error.message, fix: error.fix });
  }
}
