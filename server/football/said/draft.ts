import type { Foul } from '../fouls.ts';
import type { Play } from '../play.ts';
import type { Lane } from '../sides.ts';
import type { SaidContext } from './context.ts';
import type { SideOfMidfield } from './spots.ts';
import { yardsFrom } from './spots.ts';
import type { Asks, Meaning } from './vocabulary.ts';

/** What has been said of a play so far, and what the next number, side or team would belong to. */
export interface Draft {
  play: Play;
  readonly context: SaidContext;
  /** Sides said without saying of what, in their order. */
  sides: Lane[];
  /** Numbers said without saying of what, in their order: a gain, the length of a kick, the depth of a pass. */
  numbers: number[];
  /** Of a return: its sides are those said after it. */
  returned: { said: boolean; yards?: number; sides: Lane[] };
  out?: boolean;
  touchdown: boolean;
  short: boolean;
  reached: boolean;
  lost: boolean;
  goal: boolean;
  good?: boolean;
  nothingElse: boolean;
  offsetting: boolean;
  /** Said before the foul that it belongs to. */
  outcome?: Foul['outcome'];
  /** Where the ball was carried to before it was lost, when where it was recovered was said besides. */
  lostAt?: number;
  /** Down and distance were said: a spot that follows is where the ball was put in play. */
  starting: boolean;
  /** `foul` was said: the words that follow may name one that is not in the list. */
  namingFoul: boolean;
  /** Where the pass was intercepted, the ball came loose, in yards of the offense. */
  caughtAt?: number;
  asks?: Asks;
  lane?: Extract<Meaning['does'], { lane: unknown }>['lane'];
  official?: Extract<Meaning['does'], { official: unknown }>['official'];
  midfield: SideOfMidfield;
  /** A team was named and nothing yet that it belongs to. */
  recovering: boolean;
  askingTimeout: boolean;
  foul?: Foul;
  last?: 'catch' | 'line' | 'fumble';
}

export const newDraft = (play: Play, context: SaidContext): Draft => ({
  play,
  context,
  sides: [],
  numbers: [],
  returned: { said: false, sides: [] },
  touchdown: false,
  short: false,
  reached: false,
  lost: false,
  goal: false,
  nothingElse: false,
  offsetting: false,
  starting: false,
  namingFoul: false,
  midfield: undefined,
  recovering: false,
  askingTimeout: false,
});

/** The side at the left or right hand of the offense. */
export function laneOf(said: string, { left = 'head linesman side' }: SaidContext): Lane {
  const right: Lane = left === 'head linesman side' ? 'line judge side' : 'head linesman side';
  return said === 'left' ? left : said === 'right' ? right : (said as Lane);
}

/** How long the kicks of each kind usually are, to tell which of two yard lines is meant. Common practice, no source. */
const usualKick = { punt: 40, 'free kick': 60 } as const;

/** A yard line as the word before it means it; undefined when there is no such yard line. */
export function placeOf(draft: Draft, line: number, asks: Asks): number | undefined {
  const { play } = draft;
  const forward = (usual: number) => (yards: number) =>
    (yards > play.spot ? 0 : 200) + Math.abs(yards - play.spot - usual);
  const near = (from: number) => (yards: number) => Math.abs(yards - from);
  const isKick = play.kind === 'punt' || play.kind === 'free kick';
  const fits =
    asks === 'start spot'
      ? near(play.spot)
      : asks === 'catch spot'
        ? forward(15)
        : asks === 'loose spot' && isKick && play.looseBall !== 'blocked kick'
          ? forward(play.onside ? 10 : usualKick[play.kind as 'punt'])
          : near(lastPlace(draft));
  return yardsFrom(line, draft.midfield, fits);
}

/** Where the ball was last said to be. */
function lastPlace({ play, caughtAt, numbers }: Draft): number {
  const kicked = play.kind === 'punt' || play.kind === 'free kick' ? numbers[0] : undefined;
  return play.looseBallSpot ?? play.kickTo ?? caughtAt ?? play.spot + (kicked ?? 0);
}

/** A yard line on a kick of which no word said what was there: where it came down. */
export function placeOfTheKick(draft: Draft, line: number): number | undefined {
  const { play } = draft;
  const usual = play.onside ? 10 : usualKick[play.kind as 'punt'];
  return yardsFrom(
    line,
    draft.midfield,
    (yards) => (yards > play.spot ? 0 : 200) + Math.abs(yards - play.spot - usual),
  );
}
