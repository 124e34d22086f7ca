import type { Fact } from '../../football/play.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { positions } from '../../football/positions.ts';
import type { SeasonPreview } from '../season-preview.ts';

type Moved = SeasonPreview['standings'][number];

/** Where a weight moves somebody's place, or an adjusted grade by a tenth of a point and more. */
const movesPlace = (row: Moved) => row.now.place !== row.would.place;
const movesGrade = (row: Moved) => Math.abs((row.now.adjusted ?? 0) - (row.would.adjusted ?? 0)) >= 0.05;

const byPlace = (a: Moved, b: Moved) =>
  positions.indexOf(a.position) - positions.indexOf(b.position) ||
  (a.would.place ?? 999) - (b.would.place ?? 999);

/** Facts that `playInWords` says already. */
const inTheWords = new Set<Fact>(['kind', 'spot', 'quarter', 'clockSeconds', 'down', 'distance']);

/** What a change of a duty would do to the season, as the page shows it. */
export function previewView(preview: SeasonPreview) {
  return {
    ...preview,
    perGame: preview.games === 0 ? null : preview.total.after / preview.games,
    exampleInWords: preview.example && playInWords(preview.example),
    exampleFacts: preview.example && loggedFacts(preview.example).filter(({ fact }) => !inTheWords.has(fact)),
    missingFacts: preview.missingFacts.slice(0, 4),
    examples: preview.examples.map((example, index) => ({ ...example, number: index + 1 })),
    byPosition: preview.byPosition.map((row) => ({
      ...row,
      changed: row.before !== row.after,
      perGame: preview.games === 0 ? null : row.after / preview.games,
    })),
    weightMoves: preview.standings.length > 0,
    rankMoves: preview.standings.filter(movesPlace).sort(byPlace),
    gradeMoves: preview.standings.filter((row) => !movesPlace(row) && movesGrade(row)).sort(byPlace),
  };
}
