import type { Play } from '../../server/football/play.ts';
import { type Lane, lanes } from '../../server/football/sides.ts';
import { clamp, type GameState } from './state.ts';
import { depthText, yardsText } from './words.ts';

/** How far the ball was carried, thrown or brought back, and the words for it. */
interface Movement {
  gain: number;
  what: string;
}

export function carry(state: GameState, play: Play): Movement {
  const { draws } = state;
  const { strength } = state.teams[state.ball];
  play.carrier = draws.chance(0.16) ? 'quarterback' : 'other';
  let gain = draws.normal(3.5 + strength * 0.6, 2.7);
  if (draws.chance(0.09)) gain += draws.integer(4, 18);
  if (draws.chance(0.012)) gain += draws.integer(15, 60);
  gain = clamp(gain, -6, 99);
  play.backwardPass = draws.chance(0.03);
  const where = play.playSide === 'middle' ? 'up the middle' : `to the ${play.playSide}`;
  return { gain, what: `run ${where}, ${yardsText(gain)}` };
}

export function pass(state: GameState, play: Play): Movement {
  const { draws } = state;
  const { strength } = state.teams[state.ball];
  const { spot } = play;
  play.backwardPass = draws.chance(0.012);
  // Deep in its own end the offense is rushed hardest.
  const sack = spot <= 6 ? 0.13 : 0.058;
  const drops = draws.weighted({ throw: 0.958 - sack, sack, scramble: 0.042 });
  if (drops === 'sack') {
    play.passResult = 'sack';
    play.carrier = 'quarterback';
    play.pressure = true;
    const gain = -clamp(draws.normal(6.5, 2.5), 1, Math.min(spot, 15));
    return { gain, what: `passer sacked, ${yardsText(gain)}` };
  }
  if (drops === 'scramble') {
    play.passResult = 'scramble';
    play.carrier = 'quarterback';
    play.pressure = draws.chance(0.8);
    const gain = clamp(draws.normal(6, 4.5), -2, 40);
    return { gain, what: `passer scrambles, ${yardsText(gain)}` };
  }
  play.quickPass = draws.chance(0.3);
  play.pressure = draws.chance(play.quickPass ? 0.06 : 0.24);
  const drop = Math.min(spot - 1, 12);
  play.throwDepth =
    0 - clamp(play.quickPass ? draws.normal(4, 1.3) : draws.normal(7, 1.8), 2, Math.max(2, drop));
  // On the run, near the line or just over it.
  if (!play.quickPass && draws.chance(0.02)) play.throwDepth = draws.integer(-1, 1);
  const deepest = Math.min(100 - spot + 8, 60);
  const reach = play.quickPass ? 'quick' : draws.weighted({ middling: 0.8, deep: 0.2 });
  const depth = { quick: [1.5, 2.5], middling: [9.5, 4], deep: [28, 8] }[reach] as [number, number];
  play.catchDepth = clamp(draws.normal(...depth), -6, deepest);
  // Thrown beyond the end line it can't be caught.
  const catchable = spot + play.catchDepth <= 109;
  const caught =
    { quick: 0.79, middling: 0.63, deep: 0.37 }[reach] + strength * 0.05 - (play.pressure ? 0.12 : 0);
  const stolen = { quick: 0.007, middling: 0.024, deep: 0.06 }[reach];
  play.passResult =
    catchable && draws.chance(caught)
      ? 'complete'
      : draws.chance(stolen * 2.2)
        ? 'intercepted'
        : 'incomplete';
  play.catchInQuestion = draws.chance(play.passResult === 'complete' ? 0.04 : 0.09);
  if (play.passResult === 'incomplete')
    return { gain: 0, what: `pass incomplete ${depthText(play.catchDepth)}` };
  if (play.passResult === 'intercepted')
    return { gain: play.catchDepth, what: `pass intercepted ${depthText(play.catchDepth)}` };
  const after = draws.chance(0.6) ? draws.integer(0, 4) : draws.integer(3, reach === 'quick' ? 18 : 13);
  const gain = clamp(play.catchDepth + after, -7, Math.max(100 - spot, play.catchDepth));
  return {
    gain,
    what: `pass complete ${depthText(play.catchDepth)}, ${yardsText(Math.min(gain, 100 - spot))}`,
  };
}

/** Where across the field it ended: most often where it was going. */
export function endAcross(state: GameState, play: Play, from: Lane): void {
  const { draws } = state;
  play.endSide = draws.chance(from === 'middle' ? 0.66 : 0.82) ? from : draws.pick(lanes);
  setDistanceFromSideline(state, play, 0);
}

/** The middle lies 20 to 26 yards from the nearer sideline, between the hash marks of the college field. */
export function setDistanceFromSideline(state: GameState, play: Play, outShare: number): void {
  const { draws } = state;
  play.outOfBounds = play.endSide !== 'middle' && draws.chance(outShare);
  play.yardsFromSideline = play.outOfBounds
    ? 0
    : play.endSide === 'middle'
      ? draws.integer(20, 26)
      : draws.chance(0.35)
        ? draws.integer(1, 5)
        : draws.integer(6, 19);
}
