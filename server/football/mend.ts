import type { Code } from './codes.ts';
import { nextPlay } from './next-play.ts';
import type { Fact, Play } from './play.ts';

const startFacts = ['offense', 'down', 'distance', 'spot'] as const satisfies Fact[];

/**
 * What to offer for the start of the next play when a play was corrected: its facts that followed from how the play
 * ended before and would now be others. Undefined when nothing has to be mended: the correction changes nothing of
 * what follows, the next play says already what now follows, or it starts a half. `before` and `after` are the
 * corrected play, `next` the one after it as it is logged.
 */
export function mendOf(before: Play, after: Play, next: Play, code: Code): Partial<Play> | undefined {
  if (halfOf(after) !== halfOf(next)) return undefined;
  const followed = nextPlay(before, code);
  const follows = nextPlay(after, code);
  const mend: Partial<Play> = {};
  const offer = (fact: Fact) => {
    const value = follows[fact];
    if (value === undefined || value === followed[fact] || value === next[fact]) return;
    Object.assign(mend, { [fact]: value });
  };
  // A down that was a try or a free kick, or is to be one, is another kind of play; run or pass is not told from here.
  if (isAfterAScore(follows) !== isAfterAScore(next)) offer('kind');
  for (const fact of startFacts) offer(fact);
  if (Object.keys(mend).length === 0) return undefined;
  return mend;
}

const isAfterAScore = ({ kind }: Play) => (kind === 'try' || kind === 'free kick' ? kind : 'down');

const halfOf = ({ quarter = 1 }: Play) => (quarter <= 2 ? 1 : quarter <= 4 ? 2 : quarter);
