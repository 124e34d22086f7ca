import type { EditionContent } from '../programs/edition.ts';
import { type Caption, captionsOf } from '../timeline/captions.ts';
import type { ReelFacts } from './stores/reel-store.ts';

/** What is said to each play, where the play is in the reel; after its question, which must not be given away. */
export function captionsOfReel(facts: ReelFacts, content: EditionContent): Caption[] {
  return facts.plays.flatMap(({ number, frame, frames }) => {
    const narration = content.plays.find((play) => play.number === number)?.narration ?? '';
    const stop = facts.questions.find(
      (one) => one.number === number && one.frame > frame && one.frame < frame + frames,
    );
    const from = stop?.frame ?? frame;
    return captionsOf([{ title: '', frames: frame + frames - from, film: null, narration }]).map(
      (caption) => ({
        ...caption,
        from: caption.from + from,
        to: caption.to + from,
      }),
    );
  });
}
