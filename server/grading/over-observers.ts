/**
 * What gives the mean of something that an observer adds in a position, over all observers who could have watched a
 * row's official, each counted alike; 0 where there is none.
 *
 * @param observersOf by official: the observers of their comparable group, the same list for all of the group
 * @param of what the observer of a row adds in the row's position, in the unit of the result
 */
export function meanOverObservers<Row extends { official: string; observer: string; position: string }>(
  observersOf: ReadonlyMap<string, readonly string[]>,
  of: (row: Row) => number,
): (row: Row) => number {
  const known = new Map<string, number>();
  return (row) => {
    const observers = observersOf.get(row.official) ?? [];
    const key = `${observers[0]}\n${row.position}`;
    let mean = known.get(key);
    if (mean === undefined) {
      mean = observers.reduce((sum, observer) => sum + of({ ...row, observer }), 0) / (observers.length || 1);
      known.set(key, mean);
    }
    return mean;
  };
}
