/** One column of the board: a crew's seats from the top, or the list of those in no crew. */
type Column = readonly string[];

const steps: Readonly<Record<string, readonly [columns: number, rows: number]>> = {
  ...{ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] },
};

/**
 * Where an arrow key leads from `at`: up and down from position to position, left and right from crew to crew at the
 * same position. At an edge it stays. @returns undefined for another key
 */
export function arrowFrom(columns: readonly Column[], at: string, key: string): string | undefined {
  const step = steps[key];
  if (!step) return undefined;
  const filled = columns.filter((column) => column.length > 0);
  const column = filled.findIndex((places) => places.includes(at));
  if (column < 0) return filled[0]?.[0];
  const next = filled[column + step[0]];
  if (!next) return at;
  const row = filled[column]!.indexOf(at) + step[1];
  return next[Math.max(0, Math.min(row, next.length - 1))];
}
