import type { CodeFacts } from '../../football/codes.ts';
import type { Fact, Play } from '../../football/play.ts';
import { playsFormat } from '../files/plays.ts';
import type { ForeignFile, ForeignRow } from './foreign-file.ts';
import { folded, type Mapping, meantBy, type Source } from './mapping.ts';
import { clockFrom, spotFrom, Unreadable, wholeNumber } from './places-and-times.ts';
import { roleOf, sideMeant, type TeamsOfGame, teamOf } from './sides-of-game.ts';

/** The game that a log is read for. */
export interface GameOfLog extends TeamsOfGame {
  readonly code: CodeFacts;
}

/** A cell that cannot be read, with where it stands. */
export class CellProblem extends Error {
  constructor(
    readonly column: string,
    readonly value: string,
    message: string,
    readonly fix: string,
  ) {
    super(message);
  }
}

export const noColumn = (column: string) =>
  new CellProblem(
    column,
    '',
    'the file has no such column',
    'Choose another column for what is read from it.',
  );

/** What a text is as plays.csv reads it; undefined when it reads no such text. A number may end in `.0`. */
export function ownReading(fact: Fact, text: string): unknown {
  const whole = wholeNumber(text);
  const { schema } = playsFormat.columns[fact];
  const parsed = schema.safeParse(whole === undefined ? text : String(whole));
  return parsed.success ? parsed.data : undefined;
}

/** Written as the meaning of a distance: the line to gain is the goal line. */
export const goalToGo = 'goal';

const fixOfText = (fact: Fact) =>
  `Say what this text means here, or that it means unknown. plays.csv would take: ${playsFormat.columns[fact].fix}`;

/** Reads the facts of one row. What the row says of teams, spot and quarter comes first: other facts are counted from them. */
export class RowReader {
  readonly #cell: (column: string) => string;
  readonly #mapping: Mapping;
  readonly #game: GameOfLog;

  constructor(file: ForeignFile, row: ForeignRow, mapping: Mapping, game: GameOfLog) {
    this.#cell = (column) => {
      const at = file.columns.indexOf(column);
      if (at === -1) throw noColumn(column);
      return (row.cells[at] ?? '').trim();
    };
    this.#mapping = mapping;
    this.#game = game;
  }

  text(column: string): string {
    return this.#cell(column);
  }

  /** The value of a fact by the first source that says something, given what is known of the play; undefined: unknown. */
  read(fact: Fact, known: Partial<Play>): unknown {
    for (const source of this.#mapping.facts[fact] ?? []) {
      const value = this.#from(source, fact, known);
      if (value !== undefined) return value;
    }
    return undefined;
  }

  #from(source: Source, fact: Fact, known: Partial<Play>): unknown {
    switch (source.from) {
      case 'fixed': {
        const value = ownReading(fact, source.value);
        if (value === undefined) {
          throw new CellProblem('', source.value, 'is no value of this fact', playsFormat.columns[fact].fix);
        }
        return value;
      }
      case 'usual':
        if (known.kind === 'try') return this.#game.code.tryFrom;
        return known.kind === 'free kick' ? this.#game.code.kickoffFrom : undefined;
      case 'column':
        return fact === 'offense' ? this.#offense(source.column, known) : this.#plain(source, fact, known);
      case 'spot': {
        const said = this.#said(source.column, source.values);
        if (said === undefined) return undefined;
        return this.#reading(source.column, () =>
          spotFrom(
            source.as,
            said,
            source.side === undefined ? undefined : this.#cell(source.side),
            known.offense,
            (side) => this.#whose(side, source.side ?? source.column, known.offense),
          ),
        );
      }
      case 'gained': {
        const { kind, spot, passResult } = known;
        const counts =
          kind === 'run' || (kind === 'pass' && passResult !== 'incomplete' && passResult !== 'intercepted');
        const said = this.#said(source.column, source.values);
        if (said === undefined || !counts || spot === undefined) return undefined;
        const yards = wholeNumber(said);
        if (yards === undefined) {
          throw new CellProblem(
            source.column,
            said,
            'is no whole number of yards',
            'Correct the file, or say that this text means unknown.',
          );
        }
        return spot + yards;
      }
      case 'clock': {
        const said = this.#said(source.column, source.values);
        if (said === undefined) return undefined;
        return this.#reading(source.column, () => clockFrom(source.as, said, known.quarter, this.#game.code));
      }
      case 'fouls':
        return this.#fouls(source, known);
    }
  }

  /** A cell's text, or what its text was said to mean; undefined when it is empty or means unknown. */
  #said(column: string, values: Readonly<Record<string, string>>): string | undefined {
    const text = this.#cell(column);
    const said = meantBy(values, text) ?? text;
    return said === '' ? undefined : said;
  }

  #reading<Value>(column: string, read: () => Value): Value {
    try {
      return read();
    } catch (error) {
      if (!(error instanceof Unreadable)) throw error;
      throw new CellProblem(column, this.#cell(column), error.message, error.fix);
    }
  }

  #plain(source: Source & { from: 'column' }, fact: Fact, known: Partial<Play>): unknown {
    const said = this.#said(source.column, source.values);
    if (said === undefined) return undefined;
    if (fact === 'distance' && folded(said) === goalToGo) {
      return known.spot === undefined ? undefined : Math.max(1, 100 - known.spot);
    }
    const value = ownReading(fact, said);
    if (value !== undefined) return value;
    throw new CellProblem(
      source.column,
      this.#cell(source.column),
      'is not yet said to mean anything',
      fixOfText(fact),
    );
  }

  #side(text: string, column: string) {
    const meant = sideMeant(text, this.#mapping.sides, this.#game);
    if (meant === undefined) {
      throw new CellProblem(
        column,
        text,
        'stands for a team or a side that nobody has named yet',
        'Say under “Teams and sides” what this text means.',
      );
    }
    if (meant === 'other game') {
      throw new CellProblem(
        column,
        text,
        'stands for a team that does not play in this game',
        'Leave the rows of other games out, or say under “Teams and sides” what this text means.',
      );
    }
    return meant === 'unknown' ? undefined : meant;
  }

  #offense(column: string, { kind }: Partial<Play>): Play['offense'] {
    const text = this.#cell(column);
    if (text === '' && meantBy(this.#mapping.sides, '') === undefined) return undefined;
    const meant = this.#side(text, column);
    if (meant === undefined) return undefined;
    const team = teamOf(meant, undefined);
    if (team !== undefined) {
      const receives = kind === 'free kick' && this.#mapping.freeKicksNameReceiver;
      return receives ? (team === 'home' ? 'visitor' : 'home') : team;
    }
    throw new CellProblem(
      column,
      text,
      'is said to mean the team with the ball, which is just what is asked here',
      'Say under “Teams and sides” which team this text means.',
    );
  }

  #whose(side: string, column: string, offense: Play['offense']): 'own' | 'theirs' | undefined {
    const meant = this.#side(side, column);
    const role = meant && roleOf(meant, offense);
    return role && (role === 'offense' ? 'own' : 'theirs');
  }

  #fouls(source: Source & { from: 'fouls' }, known: Partial<Play>): unknown {
    const text = this.#cell(source.column);
    const said = meantBy(source.values, text) ?? (text === '' ? '' : undefined);
    if (said === '') return undefined;
    if (said === undefined || said === 'none') {
      const own = ownReading('fouls', said ?? text);
      if (own !== undefined) return own;
      throw new CellProblem(source.column, text, 'is not yet said to be a foul or none', fixOfText('fouls'));
    }
    const byText = source.by === undefined ? '' : this.#cell(source.by);
    const meant = source.by === undefined || byText === '' ? undefined : this.#side(byText, source.by);
    const by = meant && roleOf(meant, known.offense);
    if (by === undefined) {
      throw new CellProblem(
        source.by ?? source.column,
        source.by === undefined ? text : byText,
        'is a foul, and nothing tells which team committed it',
        'Choose the column of the team that fouled, or let this text mean unknown.',
      );
    }
    const foul: Record<string, unknown> = {
      foul: (said === 'as written' ? text : said).replace(/[;/]+/g, ' ').trim().slice(0, 60),
      by,
    };
    if (source.outcome !== undefined) {
      const outcomeText = this.#cell(source.outcome);
      const outcome = meantBy(source.outcomes, outcomeText) ?? outcomeText;
      if (outcome !== '') foul.outcome = outcome.toLowerCase();
    }
    return [foul];
  }
}
