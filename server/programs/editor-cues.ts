import type { Cue } from '../timeline/cue.ts';
import { framesIn } from '../timeline/frames.ts';
import { clipSeconds } from '../training/running-time.ts';
import type { Edition } from './edition.ts';

/**
 * The plays of an edition as a reel shows them, in its order and at their planned lengths. Questions are not on it: where a
 * reel stops for one is the player's.
 *
 * @param withFilm says where the film of each play is, which may tell the teams: for who cuts it only
 */
export function editorCues(
  { content, sources }: Pick<Edition, 'content' | 'sources'>,
  withFilm: boolean,
): Cue[] {
  const sourceOf = new Map(sources.map((source) => [source.number, source]));
  return content.plays.map((play): Cue => {
    const { filmLink, filmSeconds } = sourceOf.get(play.number) ?? {};
    return {
      title: [`Play ${play.number}`, play.topic].filter(Boolean).join(', '),
      frames: framesIn(clipSeconds(play)),
      film:
        withFilm && filmLink && typeof filmSeconds === 'number'
          ? { url: filmLink, firstFrame: framesIn(Math.max(0, filmSeconds - play.secondsBefore)) }
          : null,
      narration: play.narration,
    };
  });
}
