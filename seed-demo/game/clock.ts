import type { ClockStop, Play } from '../../server/football/play.ts';
import { type GameState, otherTeam } from './state.ts';

/** The two-minute time-out of the college book, from memory: check the current edition. */
const twoMinutes = 120;

/** The other team has a new series, so that the clock waits for its snap whatever else stopped it. */
const changesHands = (play: Play) =>
  play.turnover !== 'none' || play.kind === 'punt' || play.kind === 'free kick' || play.kind === 'place kick';

/** Not touched in the field of play, or fair-caught, a free kick starts no clock. */
const neverStarted = ({ kind, kickResult }: Play) =>
  kind === 'free kick' &&
  (kickResult === 'touchback' || kickResult === 'out of bounds' || kickResult === 'fair catch');

/** What stopped the clock first when this play was over; `none` when it ran on. */
function stopOf(play: Play, reachesLine: boolean, late: boolean): ClockStop {
  if (play.kind === 'no snap') return 'foul';
  if (play.score !== 'none') return 'score';
  if (play.passResult === 'incomplete') return 'incomplete pass';
  if (play.outOfBounds) return 'out of bounds';
  if (changesHands(play)) return 'change of possession';
  if (play.fouls !== undefined && play.fouls.length > 0) return 'foul';
  if (reachesLine && late) return 'first down';
  if (play.helmetOff) return 'helmet off';
  if (play.injury) return 'injury';
  if (play.measured) return 'measurement';
  if (play.replay !== 'none') return 'review';
  return 'none';
}

const snapAfter: readonly ClockStop[] = ['score', 'incomplete pass', 'change of possession', 'team time-out'];

/** What the offense makes of its time: it hurries when it needs to, and lets the clock run when ahead late. */
export function tempo(state: GameState): 'hurried' | 'usual' | 'slow' {
  if (state.quarter > 4) return 'usual';
  if (state.quarter === 4 && state.clock < 300) {
    if (state.lead > 0) return 'slow';
    if (state.lead < 0 && (state.clock < 240 || state.lead < -10)) return 'hurried';
  }
  return state.lateInHalf && state.clock < 100 ? 'hurried' : 'usual';
}

/** Does a team spend a time-out on a clock that would run? */
function callsTimeout(state: GameState): Play['timeoutBy'] {
  const { draws, quarter, clock, lead } = state;
  const offense = state.timeouts[state.ball] > 0;
  const defense = state.timeouts[otherTeam(state.ball)] > 0;
  if (state.lateInHalf) {
    if (defense && quarter === 4 && lead > 0 && lead <= 16 && draws.chance(0.6)) return 'defense';
    if (defense && quarter === 2 && clock > 40 && draws.chance(0.2)) return 'defense';
    const wants = quarter === 2 || lead <= 0;
    if (offense && wants && clock < 80 && draws.chance(0.45)) return 'offense';
    return undefined;
  }
  if (draws.chance(0.034)) {
    if (offense && draws.chance(0.65)) return 'offense';
    if (defense) return 'defense';
  }
  return undefined;
}

interface Passing {
  /** Seconds that the ball was live. */
  seconds: number;
  reachesLine?: boolean;
  /** The penalty of this play lets a period that has run out go on for one down. */
  extendsPeriod?: boolean;
  /** The snap was only to run the clock: no one stops it. */
  kneel?: boolean;
}

/** Runs the clock through the play and up to the next snap, says what stopped it, and writes the play into the log. */
export function passTime(state: GameState, play: Play, note: string, passing: Passing): void {
  if (state.quarter > 4) {
    state.write(play, note);
    return;
  }
  const { draws } = state;
  const before = state.clock;
  const wasRunning = state.clockBefore === 'running';
  state.untimedDown = false;
  const after = Math.max(0, before - passing.seconds);
  const half = state.quarter === 2 || state.quarter === 4;
  state.clock = after;
  const late = half && after <= twoMinutes;
  let stop = stopOf(play, passing.reachesLine === true, late);
  if (after === 0 && (stop === 'none' || stop === 'first down')) stop = 'end of period';

  if (stop === 'none') {
    const by = passing.kneel ? undefined : callsTimeout(state);
    if (by !== undefined) {
      stop = 'team time-out';
      play.timeout = 'team';
      play.timeoutBy = by;
      state.timeouts[by === 'offense' ? state.ball : otherTeam(state.ball)] -= 1;
      play.clockStoppedBy = draws.pick(['referee', 'head linesman', 'line judge', 'back judge', 'umpire']);
    }
  }
  if (play.helmetOff || play.injury) play.timeout = 'official';

  let runsBefore = 0;
  if (stop === 'none') {
    const pace = tempo(state);
    runsBefore =
      passing.kneel || pace === 'slow'
        ? draws.integer(36, 40)
        : pace === 'hurried'
          ? draws.integer(9, 17)
          : draws.integer(22, 36);
  } else if (stop !== 'end of period') {
    const needsSnap = snapAfter.includes(stop) || (stop === 'out of bounds' && late);
    // A foul before the snap leaves the clock as it was: it waits for the snap if it did so before.
    const waits = play.kind === 'no snap' ? !wasRunning && state.clockBefore === 'snap' : needsSnap;
    play.clockStartsOn = waits || (stop === 'out of bounds' && changesHands(play)) ? 'snap' : 'ready';
    // After a return out of bounds these seconds are taken as the return's.
    if (!waits) runsBefore = tempo(state) === 'hurried' ? draws.integer(2, 6) : draws.integer(6, 16);
    if (stop === 'out of bounds' || stop === 'first down' || stop === 'change of possession')
      if (play.endedBy !== undefined && !neverStarted(play)) play.clockStoppedBy = play.endedBy;
    if (stop === 'foul' || stop === 'helmet off' || stop === 'injury' || stop === 'measurement')
      play.clockStoppedBy ??= 'referee';
  }

  // Late in a half, a foul of the offense that stops a running clock can cost ten seconds.
  const offends = play.fouls?.some(({ by, outcome }) => by === 'offense' && outcome === 'accepted');
  if (play.kind === 'no snap' && wasRunning && half && before <= 60 && offends) {
    play.tenSecondRunoff = true;
    state.clock = Math.max(0, state.clock - 10);
  }

  let next = Math.max(0, state.clock - runsBefore);
  if (half && before > twoMinutes && next <= twoMinutes && play.timeout !== 'team') {
    // The time-out by rule: at two minutes, or when the play that ran past them is over.
    if (stop === 'none' || stop === 'end of period') {
      stop = 'official time-out';
      play.clockStoppedBy = 'referee';
    }
    play.timeout = 'official';
    play.clockStartsOn = 'snap';
    next = Math.min(after, Math.max(next, Math.min(after, twoMinutes)));
  }
  play.clockAfter = stop === 'none' ? 'running' : 'stopped';
  play.clockStoppedFor = stop;
  state.clock = next;
  state.clockBefore = stop === 'none' ? 'running' : (play.clockStartsOn ?? 'snap');
  if (after === 0 && passing.extendsPeriod) state.untimedDown = true;
  state.write(play, note);
}
