import { factNames } from '../../football/fact-words.ts';
import { type Fact, facts, type Play, playSchema } from '../../football/play.ts';
import type { ForeignFile, ForeignRow } from './foreign-file.ts';
import { folded, type Mapping, type RowRule } from './mapping.ts';
import { filmSecondsOf, wholeNumber } from './places-and-times.ts';
import { CellProblem, type GameOfLog, noColumn, RowReader } from './read-fact.ts';

/** A play as the file has it. */
export interface PlayFromFile {
  readonly line: number;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
}

/** Why a row could not be read as a play: by its line and column, with what to do. */
interface RowProblem {
  readonly line: number;
  readonly column: string;
  readonly value: string;
  readonly problem: string;
  readonly fix: string;
}

export interface MappedLog {
  /** In the order in which they were played. */
  readonly plays: readonly PlayFromFile[];
  /** Rows that a rule leaves out. */
  readonly skipped: number;
  /** Rows that are no plays yet, each with the first thing in the way. */
  readonly undecided: readonly RowProblem[];
}

/** Facts that others are counted from, in the order in which they are read; the rest follows. */
const first: readonly Fact[] = ['kind', 'offense', 'quarter', 'spot', 'passResult'];
const inOrder: readonly Fact[] = [...first, ...facts.filter((fact) => !first.includes(fact))];

/** Reads a file as plays of one game. Nothing is guessed: what no source tells stays unknown. */
export function mapPlays(file: ForeignFile, mapping: Mapping, game: GameOfLog): MappedLog {
  const plays: PlayFromFile[] = [];
  const undecided: RowProblem[] = [];
  const places = new Map<PlayFromFile, number>();
  let skipped = 0;
  for (const row of file.rows) {
    try {
      if (isLeftOut(file, row, mapping.rows)) {
        skipped += 1;
        continue;
      }
      const reader = new RowReader(file, row, mapping, game);
      const play = playOfRow(reader, row, mapping);
      if (mapping.order.by === 'column') places.set(play, placeOf(reader, mapping.order.column));
      plays.push(play);
    } catch (error) {
      if (!(error instanceof CellProblem)) throw error;
      const { column, value, message, fix } = error;
      undecided.push({ line: row.line, column, value, problem: message, fix });
    }
  }
  if (mapping.order.by === 'file from the end') plays.reverse();
  if (mapping.order.by === 'column') plays.sort((a, b) => places.get(a)! - places.get(b)!);
  return { plays, skipped, undecided };
}

/** Does a rule leave this row out? */
export function isLeftOut(file: ForeignFile, row: ForeignRow, rules: readonly RowRule[]): boolean {
  return rules.some(({ column, rule, texts }) => {
    const at = file.columns.indexOf(column);
    if (at === -1) throw noColumn(column);
    const listed = texts.includes(folded(row.cells[at] ?? ''));
    return rule === 'leave out' ? listed : !listed;
  });
}

function placeOf(reader: RowReader, column: string | undefined): number {
  const text = column === undefined ? '' : reader.text(column);
  const place = wholeNumber(text);
  if (place !== undefined) return place;
  throw new CellProblem(
    column ?? '',
    text,
    'is no number to put the plays in order by',
    'Choose the order of the file, another column, or correct the number.',
  );
}

function playOfRow(reader: RowReader, row: ForeignRow, mapping: Mapping): PlayFromFile {
  const known: Record<string, unknown> = {};
  for (const fact of inOrder) {
    const value = reader.read(fact, known as Partial<Play>);
    if (value !== undefined) known[fact] = value;
    if (value === undefined && (fact === 'kind' || fact === 'spot')) {
      throw new CellProblem(
        columnFor(fact, mapping),
        '',
        fact === 'kind'
          ? 'nothing tells what kind of play this is'
          : 'nothing tells where the ball was put in play',
        fact === 'kind'
          ? 'Choose where the kind comes from and what its texts mean, or leave rows like this one out.'
          : 'Choose where the spot comes from; for kickoffs and tries it may be the usual one. Or leave rows like this one out.',
      );
    }
  }
  const parsed = playSchema.safeParse(known);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    const fact = issue.path[0] as Fact;
    throw new CellProblem(
      columnFor(fact, mapping),
      String(known[fact] ?? ''),
      `gives a ${factNames[fact] ?? 'fact'} that cannot be: ${issue.message}`,
      'Correct the file, choose another way to read this column, or let the text mean unknown.',
    );
  }
  return {
    line: row.line,
    play: parsed.data,
    filmSeconds: filmTimeOf(reader, mapping.filmTime),
    note: noteOf(reader, mapping),
  };
}

function columnFor(fact: Fact, mapping: Mapping): string {
  const source = mapping.facts[fact]?.find((one) => 'column' in one);
  return source && 'column' in source ? source.column : '';
}

function filmTimeOf(reader: RowReader, column: string | undefined): number | null {
  const text = column === undefined ? '' : reader.text(column);
  if (column === undefined || text === '') return null;
  const seconds = filmSecondsOf(text);
  if (seconds !== undefined) return seconds;
  throw new CellProblem(
    column,
    text,
    'is no place in a film',
    'Write h:mm:ss or seconds, or choose no column for the place in the film.',
  );
}

const noteOf = (reader: RowReader, { note }: Mapping): string =>
  note === undefined ? '' : reader.text(note).slice(0, 2000);
