import { type Code, codeFacts } from './codes.ts';
import type { Play } from './play.ts';

// What a play usually takes from the game clock up to the next snap, in seconds, for an estimate of the clock. Common
// practice, no source.
const aliveAndRunning = 35;
const alive = 7;
const untilTheReady = 20;

/** About how many seconds the game clock loses from the snap of this play to the next one. */
export function usualSecondsOf(play: Play, code: Code): number {
  const { kind, passResult, outOfBounds, clockAfter, clockStartsOn, timeout } = play;
  if (kind === 'try' || kind === 'no snap') return 0;
  if (kind === 'free kick') return play.kickResult === 'touchback' ? 0 : alive;
  if (kind === 'punt' || kind === 'place kick' || (play.score ?? 'none') !== 'none') return alive;
  if ((play.turnover ?? 'none') !== 'none' || passResult === 'incomplete') return alive;
  if (timeout === 'team') return alive;
  if (clockAfter === 'running') return aliveAndRunning;
  if (clockAfter === 'stopped') return clockStartsOn === 'ready' ? untilTheReady : alive;
  if (outOfBounds) return codeFacts[code].afterOutOfBounds === 'ready' ? untilTheReady : alive;
  return play.fouls !== undefined && play.fouls.length > 0 ? untilTheReady : aliveAndRunning;
}
