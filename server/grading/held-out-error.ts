/** How far grades of one game's reports lay from what all other games predicted of them. */
export interface HeldOutGame {
  game: string;
  /** Σ weight of the reports' chances. */
  weight: number;
  /** Σ weight × (grade − predicted)², in squared points. */
  squares: number;
}

interface Predicted {
  game: string;
  weight: number;
  /** Grade − predicted, in points. */
  error: number;
}

/** Sums by game, in the order the games first come. */
export function byGame(rows: readonly Predicted[]): HeldOutGame[] {
  const games = new Map<string, HeldOutGame>();
  for (const { game, weight, error } of rows) {
    let sum = games.get(game);
    if (!sum) {
      sum = { game, weight: 0, squares: 0 };
      games.set(game, sum);
    }
    sum.weight += weight;
    sum.squares += weight * error * error;
  }
  return [...games.values()];
}

/** Root mean square of the errors, in points; null without a game. */
export function heldOutError(games: readonly HeldOutGame[]): number | null {
  const weight = games.reduce((sum, game) => sum + game.weight, 0);
  return weight > 0 ? Math.sqrt(games.reduce((sum, game) => sum + game.squares, 0) / weight) : null;
}
