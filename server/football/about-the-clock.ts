import type { Play } from './play.ts';
import { atMost, type Truth } from './three-valued.ts';

/**
 * How far from a boundary an estimated clock has to be to decide it. An estimate is the last clock that was read less
 * a usual play for each play since, and a play takes up to half a minute more or less than that. Common practice, no
 * source.
 */
export const estimateMayBeOffBy = 90;

/** Are at most so many seconds left? A clock that was read decides; an estimate only far from the boundary. */
export function clockAtMost({ clockSeconds, clockAbout }: Play, most: number): Truth {
  if (clockSeconds !== undefined || clockAbout === undefined) return atMost(clockSeconds, most);
  return Math.abs(clockAbout - most) < estimateMayBeOffBy ? 'unknown' : clockAbout <= most;
}
