/**
 * A yard line as people say it: `own 34`, `midfield`, `opponent's goal line`, `own end zone, 3 deep`. The sides are named
 * by the caller: by whose they are, or by their teams.
 *
 * @param yards from the goal line of the side that has the ball: 0 to 100 between the goal lines
 */
export function yardLineInWords(yards: number, own = 'own', other = "opponent's"): string {
  if (yards === 50) return 'midfield';
  const side = yards < 50 ? own : other;
  const line = Math.min(yards, 100 - yards);
  if (line === 0) return `${side} goal line`;
  return line < 0 ? `${side} end zone, ${-line} deep` : `${side} ${line}`;
}
