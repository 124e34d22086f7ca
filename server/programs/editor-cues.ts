import type { Cue } from '../timeline/cue.ts';
import { framesIn } from '../timeline/frames.ts';
import type { Edition } from './edition.ts';
import type { EditionPlaces } from './edition-places.ts';

type Shown = Pick<Cue, 'title' | 'narration' | 'film'>;

/** A reel as cues: each play's film, and its cards between them. What is said is said up to a play's question. */
export function cuesAt({ frames, plays }: EditionPlaces, of: (number: number) => Shown): Cue[] {
  const cues: Cue[] = [];
  let done = 0;
  const cards = (to: number, title: string) => {
    if (to > done) cues.push({ title, frames: to - done, film: null, narration: '', card: true });
    done = Math.max(done, to);
  };
  let after = 'Opening';
  for (const { number, stretches } of plays) {
    const { title, narration, film } = of(number);
    for (const [at, stretch] of stretches.entries()) {
      cards(stretch.frame, at === 0 ? after : `Question of play ${number}`);
      cues.push(
        at === 0
          ? { title, frames: stretch.frames, film, narration }
          : {
              title: `${title}, after its question`,
              frames: stretch.frames,
              film: film && { ...film, firstFrame: film.firstFrame + stretches[0]!.frames },
              narration: '',
            },
      );
      done = stretch.frame + stretch.frames;
    }
    after = `Cards after play ${number}`;
  }
  cards(frames, after);
  return cues;
}

/**
 * The plays of an edition where its reel shows them, or where it is planned to.
 *
 * @param withFilm says where the film of each play is linked, which may tell the teams: for who cuts it only. A play that
 *   was cut from uploaded film has no link.
 */
export function editorCues(
  { content, sources, cuts }: Pick<Edition, 'content' | 'sources' | 'cuts'>,
  places: EditionPlaces,
  withFilm: boolean,
): Cue[] {
  const playOf = new Map(content.plays.map((play) => [play.number, play]));
  const sourceOf = new Map(sources.map((source) => [source.number, source]));
  const cut = new Set(cuts.map(({ number }) => number));
  return cuesAt(places, (number) => {
    const play = playOf.get(number)!;
    const { filmLink, filmSeconds } = sourceOf.get(number) ?? {};
    return {
      title: [`Play ${number}`, play.topic].filter(Boolean).join(', '),
      film:
        withFilm && filmLink && typeof filmSeconds === 'number' && !cut.has(number)
          ? { url: filmLink, firstFrame: framesIn(Math.max(0, filmSeconds - play.secondsBefore)) }
          : null,
      narration: play.narration,
    };
  });
}
