import type { Queryable } from '../../database/transaction.ts';
import { type Film, listFilms } from '../../films/film-store.ts';
import { placesInFilms } from '../../films/marks-store.ts';
import type { Placed } from '../../films/placing.ts';
import type { Cut } from '../../timeline/cut.ts';
import { defaultCut } from '../../timeline/default-cut.ts';

interface PlayToCut {
  readonly playId: string;
  readonly gameId: string;
  readonly secondsBefore: number;
  readonly secondsAfter: number;
}

/** How a play is cut, or a sentence that says why it cannot be. */
export type CutOrLack = { readonly cut: Cut } | { readonly lacking: string };

export const lacks = {
  film: 'There is no film of its game here.',
  link: 'The film of its game is a link; a reel needs the file itself.',
  waiting: 'The film of its game is still being looked at.',
  place: 'Nobody has marked where it is in the film.',
  beyond: 'By its film time it lies beyond the end of the film.',
} as const;

/** Cuts for plays that nobody cut yet: from the first film of their game in which each can be placed. By play. */
export async function readDefaultCuts(
  db: Queryable,
  conferenceId: string,
  plays: readonly PlayToCut[],
): Promise<Map<string, CutOrLack>> {
  const cuts = new Map<string, CutOrLack>();
  for (const gameId of new Set(plays.map((play) => play.gameId))) {
    const films = await listFilms(db, conferenceId, gameId);
    const usable = films.filter(
      ({ source, state, facts }) => source !== 'link' && state === 'ready' && facts,
    );
    const inFilms = await placesInFilms(
      db,
      conferenceId,
      gameId,
      usable.map(({ id }) => id),
    );
    const places = usable.map((film) => ({ film, of: inFilms.get(film.id)! }));
    for (const play of plays.filter((one) => one.gameId === gameId))
      cuts.set(play.playId, usable.length === 0 ? { lacking: whyNone(films) } : cutIn(places, play));
  }
  return cuts;
}

function whyNone(films: readonly Film[]): string {
  if (films.some(({ state }) => state === 'waiting' || state === 'arriving')) return lacks.waiting;
  return films.some(({ source }) => source === 'link') ? lacks.link : lacks.film;
}

function cutIn(places: readonly { film: Film; of: Map<string, Placed> }[], play: PlayToCut): CutOrLack {
  let lacking: string = lacks.place;
  for (const { film, of } of places) {
    const placed = of.get(play.playId);
    // Another play's time is a hint for whoever marks, and would show a wrong play to everybody.
    if (!placed || placed.by === 'near') continue;
    const cut = defaultCut({ id: film.id, seconds: film.facts!.seconds }, placed.seconds, play);
    if (cut) return { cut };
    lacking = lacks.beyond;
  }
  return { lacking };
}
