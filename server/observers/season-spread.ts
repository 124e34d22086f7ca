import { type Spread, spreadBeforeData } from '../planning/prices.ts';
import type { SeasonResults } from '../results/season-results.ts';

interface KnownSpread {
  readonly spread: Spread;
  /** False: too little was released to estimate it, so it is a guess. */
  readonly estimated: boolean;
}

/** Game grades with which the spreads can begin to be told apart. Common practice, no source. */
const fewestGrades = 60;

/** How far officials, observers, games and single grades differ, as the season's standings found it. */
export async function seasonSpread(
  results: Pick<SeasonResults, 'standingsOf'>,
  conferenceId: string,
  seasonId: string,
): Promise<KnownSpread> {
  const { spread, observers } = await results.standingsOf(conferenceId, seasonId);
  const grades = observers.reduce((sum, { rows }) => sum + rows, 0);
  // No spread of skill would make every game worthless to watch: better a guess.
  if (spread === null || grades < fewestGrades || spread.official === 0) {
    return { spread: spreadBeforeData, estimated: false };
  }
  return { spread, estimated: true };
}
