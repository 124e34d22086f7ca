/**
 * One official's chances at one duty in one game, each once however many observers saw it: the grain that patterns are
 * found in.
 *
 * `observer` is the stratum that the marks are compared in. A game that two observers saw belongs to the pair of them
 * (`a+b`): what two note between them is more than what either notes, so neither's other games compare with it. The
 * price is that a pair who saw nobody else in the position tells nothing. Taking all games of two observers as one
 * stratum would keep those, but pairs differ in severity as observers do: simulated, it breaks the promise where
 * observers differ widely and half of the games are seen twice (12 % of seasons with a false pattern, 3 % by pairs).
 *
 * `situationCut` names a subset of those chances (`at the goal line`); a row without it counts all
 * of the duty's chances, those of its cuts included. Chances that the observer could not judge are in
 * neither number.
 */
export interface CountRow {
  official: string;
  position: string;
  crew: string;
  game: string;
  /** Week of the season, a whole number. */
  week: number;
  observer: string;
  duty: string;
  situationCut?: string | null;
  opportunities: number;
  misses: number;
  /** How many of the met chances the observer marked *model*. */
  model: number;
}

/** Which of a row's two numbers is compared. */
export type Event = 'misses' | 'model';

/** A column of names as small whole numbers: `of[i]` is the number of row i's name in `names`. */
export interface Column {
  names: readonly string[];
  of: Int32Array;
  /** Zeros, one a name, for whoever numbers a part of the column; left zero again after use. */
  scratch: Int32Array;
}

/** Counts fit to be compared: checked and without empty rows. */
export interface SeasonCounts {
  rows: readonly CountRow[];
  official: Column;
  position: Column;
  crew: Column;
  game: Column;
  week: Column;
  observer: Column;
  /** Observer and position together: what a crew's or a week's rows are stratified by. */
  observerAndPosition: Column;
}

function column(rows: readonly CountRow[], nameOf: (row: CountRow) => string): Column {
  const numbers = new Map<string, number>();
  const of = new Int32Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    const name = nameOf(rows[i]!);
    let number = numbers.get(name);
    if (number === undefined) {
      number = numbers.size;
      numbers.set(name, number);
    }
    of[i] = number;
  }
  return { names: [...numbers.keys()], of, scratch: new Int32Array(numbers.size) };
}

function pair(a: Column, b: Column): Column {
  const width = b.names.length;
  const names = a.names.flatMap((left) => b.names.map((right) => `${left}\n${right}`));
  const of = a.of.map((value, i) => value * width + b.of[i]!);
  return { names, of, scratch: new Int32Array(names.length) };
}

function indexed(rows: readonly CountRow[]): SeasonCounts {
  const observer = column(rows, (row) => row.observer);
  const position = column(rows, (row) => row.position);
  return {
    rows,
    official: column(rows, (row) => row.official),
    position,
    crew: column(rows, (row) => row.crew),
    game: column(rows, (row) => row.game),
    week: column(rows, (row) => String(row.week)),
    observer,
    observerAndPosition: pair(observer, position),
  };
}

function check(row: CountRow, index: number): void {
  const { opportunities, misses, model, week } = row;
  const whole = (value: number) => Number.isInteger(value) && value >= 0;
  const fault = !whole(opportunities)
    ? `opportunities is ${opportunities}; it must be a whole number from 0`
    : !whole(misses)
      ? `misses is ${misses}; it must be a whole number from 0`
      : !whole(model)
        ? `model is ${model}; it must be a whole number from 0`
        : misses + model > opportunities
          ? `misses ${misses} and model ${model} exceed opportunities ${opportunities}`
          : !Number.isInteger(week)
            ? `week is ${week}; it must be a whole number`
            : null;
  if (fault) {
    throw new RangeError(`count ${index} (${row.official}, ${row.duty}, game ${row.game}): ${fault}`);
  }
}

/**
 * @throws RangeError naming the row and field of a count that cannot be, or an official whose game came in two strata:
 * one miss would be taken for two
 */
export function prepareCounts(rows: readonly CountRow[]): SeasonCounts {
  const byGame = new Map<string, Map<string, string>>();
  for (const [index, row] of rows.entries()) {
    check(row, index);
    let observerOf = byGame.get(row.game);
    if (!observerOf) {
      observerOf = new Map();
      byGame.set(row.game, observerOf);
    }
    const before = observerOf.get(row.official);
    if (before === undefined) observerOf.set(row.official, row.observer);
    else if (before !== row.observer) {
      throw new RangeError(
        `${row.official} in game ${row.game} is counted for ${before} and for ${row.observer}; a game counts once`,
      );
    }
  }
  return indexed(rows.filter((row) => row.opportunities > 0));
}

/** Numbers the column's values met in `members` from 0; `met` receives them in that order. */
export function renumber(members: readonly number[], column: Column, met: number[]): Int32Array {
  const result = new Int32Array(members.length);
  const numbers = column.scratch;
  for (let i = 0; i < members.length; i++) {
    const value = column.of[members[i]!]!;
    let number = numbers[value]! - 1;
    if (number < 0) {
      number = met.length;
      numbers[value] = number + 1;
      met.push(value);
    }
    result[i] = number;
  }
  for (const value of met) numbers[value] = 0;
  return result;
}

/** Number of different games in which the event happened at least once. */
export function gamesWith(rows: readonly CountRow[], event: Event | 'opportunities'): number {
  const games: string[] = [];
  for (const row of rows) if (row[event] > 0 && !games.includes(row.game)) games.push(row.game);
  return games.length;
}
