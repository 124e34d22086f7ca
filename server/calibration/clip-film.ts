import type { Queryable } from '../database/transaction.ts';
import { type CutOrLack, readDefaultCuts } from '../programs/stores/default-cuts.ts';
import { gameOfLoggedPlay } from '../programs/stores/play-facts.ts';
import { secondsOfTicks } from '../timeline/cut.ts';
import { usualSeconds } from '../training/running-time.ts';

/** Where a clip is in a film: from and to in seconds of its clock. */
interface ClipFilm {
  readonly gameId: string;
  readonly filmId: string;
  readonly from: number;
  readonly to: number;
}

/** The stretch of film that shows a play, or a sentence that says why there is none. */
export async function readClipFilm(
  db: Queryable,
  conferenceId: string,
  playId: string,
): Promise<ClipFilm | { readonly lacking: string }> {
  const gameId = await gameOfLoggedPlay(db, conferenceId, playId);
  if (gameId === undefined) return { lacking: 'Its play is no longer in its log.' };
  const stretch = { secondsBefore: usualSeconds.before, secondsAfter: usualSeconds.after };
  const found: CutOrLack = (await readDefaultCuts(db, conferenceId, [{ playId, gameId, ...stretch }])).get(
    playId,
  )!;
  if ('lacking' in found) return found;
  const { filmId, from, to, timebase } = found.cut.shots[0]!;
  return { gameId, filmId, from: secondsOfTicks(from, timebase), to: secondsOfTicks(to, timebase) };
}

/** The clip's address for a player, which begins and stops where the clip does (W3C Media Fragments). */
export const clipAddress = (setId: string, number: number, { from, to }: ClipFilm): string =>
  `/calibration/${setId}/clips/${number}/film#t=${from.toFixed(2)},${to.toFixed(2)}`;
