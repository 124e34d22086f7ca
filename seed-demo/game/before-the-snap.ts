import type { Play } from '../../server/football/play.ts';
import { type Lane, lanes } from '../../server/football/sides.ts';
import type { GameState } from './state.ts';

/** What is known not to have happened until it does. */
export const nothingYet = {
  fouls: [] as NonNullable<Play['fouls']>,
  looseBall: 'none',
  turnover: 'none',
  score: 'none',
  helmetOff: false,
  injury: false,
  confrontation: false,
  coachDispute: false,
  ejection: false,
  timeout: 'none',
  rulingsDiffered: false,
  tenSecondRunoff: false,
  inadvertentWhistle: false,
  replay: 'none',
} as const satisfies Partial<Omit<Play, 'fouls'>> & { fouls: NonNullable<Play['fouls']> };

/** What an observer settles at once on a kick from scrimmage: nobody shifts, goes in motion or is measured for. */
export const kickingLineUp = {
  ...{ shift: false, motion: 'none', measured: false, fumbleOrDown: false },
} as const satisfies Partial<Play>;

const sideWeights = { 'head linesman side': 0.36, middle: 0.28, 'line judge side': 0.36 } as const;

export const anySide = (state: GameState): Lane => state.draws.weighted(sideWeights);

/** How the offense lines up: strength, shift, motion, tempo, substitutes. */
export function lineUp(state: GameState, hurried: boolean): Partial<Play> {
  const { draws } = state;
  const hurryUp = hurried ? draws.chance(0.85) : draws.chance(0.12);
  const motion = draws.weighted({
    none: 0.58,
    'head linesman side': 0.17,
    middle: 0.08,
    'line judge side': 0.17,
  });
  const facts: Partial<Play> = {
    // More receivers line up where there is more of the field.
    strongSide:
      state.hash === 'middle' || draws.chance(0.35)
        ? draws.weighted(sideWeights)
        : state.hash === 'head linesman side'
          ? 'line judge side'
          : 'head linesman side',
    shift: draws.chance(0.07),
    snapFor: 'play',
    hurryUp,
    offenseSubstituted: draws.chance(hurryUp ? 0.08 : 0.33),
    motion,
  };
  if (motion !== 'none') facts.motionFrom = draws.pick(lanes.filter((lane) => lane !== motion));
  return facts;
}
