import type { PersonName } from '../../accounts/people-names.ts';
import type { Detection, ObserverDetection } from '../../grading/agreement/detection.ts';
import { overlookedWords, shareRange, shareWords } from '../../reports/review/overlooked-words.ts';
import { signed } from '../../web/format.ts';
import { keennessWords, strictnessWords } from '../detection/detection-words.ts';
import type { CurrentStandings } from '../standings/season-standings.ts';

/** What double games tell, in words: overall, and for every observer of the season. */
export function detectionView(
  detection: Detection,
  { observers }: Pick<CurrentStandings, 'observers'>,
  people: ReadonlyMap<string, PersonName>,
) {
  const { games, both, one, differed, seen, misses } = detection;
  const rowOf = new Map(detection.observers.map((row) => [row.observer, row]));
  return {
    games,
    gamesText: games === 1 ? '1 game' : `${games} games`,
    both,
    one,
    differed,
    neither: overlookedWords(misses),
    average: seen && shareRange(seen),
    rows: observers
      .map(({ observer }) => ({ person: people.get(observer), ...observerRow(rowOf.get(observer)) }))
      .sort((a, b) => Number(b.known) - Number(a.known) || b.share - a.share),
  };
}

function observerRow(row: ObserverDetection | undefined) {
  return {
    known: row !== undefined,
    games: row?.games ?? 0,
    share: row?.seen?.value ?? 0,
    seen: shareWords(row?.seen ?? null) || 'none noted',
    alone: shareWords(row?.alone ?? null) || 'none',
    against: shareWords(row?.against ?? null) || 'none',
    keenness: keennessWords(row),
    strictness: strictnessWords(row),
    beyond:
      row?.beyondKeenness &&
      `Severity beyond keenness: ${signed(row.beyondKeenness.points, 2)} points (${signed(row.beyondKeenness.low, 2)} to ${signed(row.beyondKeenness.high, 2)})`,
  };
}
