import { captionsOf } from '../../timeline/captions.ts';
import { cardSvg } from '../cards/card-svg.ts';
import { captionSvg, pointerSvg } from '../cards/overlay-svg.ts';
import { captionCues, startsOf } from '../plan/reel-places.ts';
import type { ReelPlan } from '../plan/reel-plan.ts';
import { cardClip } from './card-clip.ts';
import type { Clip } from './clip.ts';
import type { DrawnPictures } from './drawn-pictures.ts';
import type { PlacedSegment } from './place-reel.ts';
import { type Overlay, pictureBox, shotClip } from './shot-clip.ts';
import type { SourceFilm } from './source-film.ts';
import type { Voice } from './voice.ts';

interface ClipToMake {
  readonly clip: Clip;
  /** As a sentence about its trouble begins. */
  readonly what: string;
  /** Draws the pictures that it needs. */
  draw(): Promise<unknown>;
}

/** The clips of a reel, in order, each as it is to be made. */
export function clipsOfReel(
  plan: ReelPlan,
  placed: readonly PlacedSegment[],
  {
    films,
    voices,
    pictures,
    burnedIn,
  }: {
    films: ReadonlyMap<string, SourceFilm>;
    voices: ReadonlyMap<number, Voice>;
    pictures: DrawnPictures;
    burnedIn: boolean;
  },
): ClipToMake[] {
  const lengths = placed.map(({ frames }) => frames);
  const starts = startsOf(lengths);
  const captions = burnedIn ? captionsOf(captionCues(plan, lengths)) : [];
  return plan.segments.map((segment, at): ClipToMake => {
    const { place, hold, frames, voiceFrom } = placed[at]!;
    if (segment.kind === 'card') {
      const picture = pictures.input(cardSvg(segment.card));
      return { clip: cardClip(picture, frames), what: 'Drawing a card', draw: () => picture.draw() };
    }
    const film = films.get(segment.shot.filmId)!;
    const box = pictureBox(film.aspect);
    const drawn: (Overlay & { picture: ReturnType<DrawnPictures['input']> })[] = [
      ...segment.shot.pointers.map((pointer, of) => ({
        picture: pictures.input(pointerSvg(pointer, box)),
        ...place!.pointers[of]!,
      })),
      ...captions
        .filter(({ from, to }) => from < starts[at + 1]! && to > starts[at]!)
        .map(({ from, to, lines }) => ({
          picture: pictures.input(captionSvg(lines)),
          from: Math.max(0, from - starts[at]!),
          last: Math.min(frames, to - starts[at]!) - 1,
        })),
    ];
    const voice = voices.get(segment.play);
    return {
      clip: shotClip({
        ...{ place: place!, film, hold, overlays: drawn },
        sound: film.sound && !segment.shot.muted,
        voice: voice && voiceFrom !== null ? { sound: voice.sound, fromSample: voiceFrom } : null,
      }),
      what: `Cutting play ${segment.play} from its film`,
      draw: () => Promise.all(drawn.map(({ picture }) => picture.draw())),
    };
  });
}
