/**
 * One official's chances at one duty in one game as one observer saw them: the grain that patterns are
 * found in. `situationCut` names a subset of those chances (`at the goal line`); a row without it counts all
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

/** A column of names as small whole numbers: `of[i]` is the number of row i's name in `names`. */
export interface Column {
  names: readonly string[];
  of: Int32Array;
  /** Zeros, one a name, for whoever numbers a part of the column; left zero again after use. */
  scratch: Int32Array;
}

/** Counts fit to be compared: checked, without empty rows, and each chance counted once. */
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
  /** Rows set aside because another observer's report of the same official and game is used. */
  rowsOfSecondObservers: number;
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

function indexed(rows: readonly CountRow[], rowsOfSecondObservers: number): SeasonCounts {
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
    rowsOfSecondObservers,
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
 * Two observers of one game saw the same misses; counting both would take one miss for two. For each
 * official and game the report with more judged chances is used, on equal numbers the observer whose id
 * sorts first, so that the choice never depends on the marks themselves.
 *
 * @throws RangeError naming the row and field of a count that cannot be
 */
export function prepareCounts(rows: readonly CountRow[]): SeasonCounts {
  const byGame = new Map<string, Map<string, Map<string, number>>>();
  let doubled = false;
  for (const [index, row] of rows.entries()) {
    check(row, index);
    let officials = byGame.get(row.game);
    if (!officials) {
      officials = new Map();
      byGame.set(row.game, officials);
    }
    let observers = officials.get(row.official);
    if (!observers) {
      observers = new Map();
      officials.set(row.official, observers);
    }
    const judged = row.situationCut ? 0 : row.opportunities;
    observers.set(row.observer, (observers.get(row.observer) ?? 0) + judged);
    if (observers.size > 1) doubled = true;
  }
  if (!doubled)
    return indexed(
      rows.filter((row) => row.opportunities > 0),
      0,
    );

  const chosen = new Map<string, Map<string, string>>();
  for (const [game, officials] of byGame) {
    const observerOf = new Map<string, string>();
    for (const [official, observers] of officials) {
      const [first] = [...observers].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
      observerOf.set(official, first![0]);
    }
    chosen.set(game, observerOf);
  }
  const kept = rows.filter(
    (row) => row.opportunities > 0 && chosen.get(row.game)!.get(row.official) === row.observer,
  );
  const filled = rows.reduce((count, row) => count + (row.opportunities > 0 ? 1 : 0), 0);
  return indexed(kept, filled - kept.length);
}
