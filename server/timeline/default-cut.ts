import type { Cut, Timebase } from './cut.ts';

/** Of places that nobody took from a film's own frames: each clock of a film divides it or is nearly as fine. */
const fineTimebase: Timebase = { numerator: 1, denominator: 90_000 };

/** A stretch shorter than this shows nothing of a play. */
const leastSeconds = 0.5;

/**
 * How a play is cut that nobody cut yet: one stretch of one film around its snap, without its sound. Where the film ends
 * sooner, the stretch does; undefined where it has nothing of the play.
 *
 * @param film its length in seconds
 * @param snap seconds of the film's own clock
 */
export function defaultCut(
  film: { readonly id: string; readonly seconds: number },
  snap: number,
  { secondsBefore, secondsAfter }: { readonly secondsBefore: number; readonly secondsAfter: number },
): Cut | undefined {
  const from = Math.max(0, snap - secondsBefore);
  const to = Math.min(film.seconds, snap + secondsAfter);
  if (snap >= film.seconds || to - from < leastSeconds) return undefined;
  const ticks = (seconds: number) => Math.round(seconds * fineTimebase.denominator);
  return {
    shots: [
      {
        filmId: film.id,
        timebase: fineTimebase,
        from: ticks(from),
        to: ticks(to),
        ...{ slow: 1, freezes: [], pointers: [], muted: true },
      },
    ],
    questionAfter: null,
    voice: null,
  };
}
