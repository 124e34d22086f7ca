import type { Cut } from '../timeline/cut.ts';
import { secondsOfCut } from '../timeline/cut-length.ts';
import { clipSeconds, playingSeconds, type Timed } from '../training/running-time.ts';

/** Seconds of film of a play: as it was cut, else as planned around its snap. */
export const filmSeconds = (play: Timed, kept: { readonly cut: Cut } | undefined): number =>
  kept ? secondsOfCut(kept.cut) : clipSeconds(play);

/** Whole seconds that it takes of its program: its film, and the stop for its question. */
export const programSeconds = (
  play: Timed & { readonly question: string },
  kept: { readonly cut: Cut } | undefined,
): number => playingSeconds(Math.round(filmSeconds(play, kept)), play.question !== '');
