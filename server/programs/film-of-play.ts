import { filmAddress } from '../games/film-address.ts';
import type { PlayFacts } from './stores/play-facts.ts';

type OnFilm = Pick<PlayFacts, 'gameId' | 'playId' | 'filmHere' | 'filmLink' | 'filmSeconds'>;

/** Where the coordinator watches the play: on our own page, else wherever the game's film link leads; null: nowhere. */
export function filmOfPlay({ gameId, playId, filmHere, filmLink, filmSeconds }: OnFilm): string | null {
  if (filmHere) return `/games/${gameId}/plays/${playId}/film`;
  // A link opens; without the second at which the play begins it does not show it.
  return filmSeconds === null ? null : filmAddress(filmLink, filmSeconds);
}

/** There is a film of it that opens at its moment. */
export const hasFilm = (play: OnFilm): boolean => filmOfPlay(play) !== null;
