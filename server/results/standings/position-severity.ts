import { positions } from '../../football/positions.ts';
import type { PositionSeverity } from '../../grading/severity.ts';
import type { CurrentStandings } from './season-standings.ts';
import { severityWords } from './severity-words.ts';

/** Games from which on a position's own severity is told. Common practice, no source. */
const fewestGames = 3;

/** An observer in one position, as pages, files and the API tell it. */
export interface PositionSeverityLine {
  observer: string;
  position: string;
  games: number;
  /** Points of a grade, below 0 strict; null where too little tells it. */
  told: { points: number; low: number; high: number } | null;
  meaning: string;
}

/** Every observer in every position they graded: strictest observer first, positions in trade order. */
export function positionSeverity({ observers }: Pick<CurrentStandings, 'observers'>): PositionSeverityLine[] {
  return observers.flatMap(({ observer, positions: own }) =>
    positions.flatMap((position) => {
      const row = own.find((one) => one.position === position);
      if (!row) return [];
      const reason = whyUntold(row);
      return [
        {
          observer,
          position,
          games: row.games,
          told: reason || row.effect === null ? null : { points: row.effect, low: row.low, high: row.high },
          meaning: reason ?? severityWords(row),
        },
      ];
    }),
  );
}

function whyUntold({ effect, others, games }: PositionSeverity): string | null {
  if (effect === null) return null;
  if (others === 0) return 'nobody else saw this position';
  if (games < fewestGames) return 'too few games to say';
  return null;
}

/** Whether anything tells that observers are stricter in some positions; null where the model could not be fitted. */
export const differsByPosition = ({ spread }: Pick<CurrentStandings, 'spread'>): boolean | null =>
  spread && spread.observerInPosition > 0;
