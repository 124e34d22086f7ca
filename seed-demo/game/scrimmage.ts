import type { Play } from '../../server/football/play.ts';
import { closeRulings, tempers } from './aftermath.ts';
import { anySide, lineUp, nothingYet } from './before-the-snap.ts';
import { passTime, tempo } from './clock.ts';
import { nameOfficials } from './officials.ts';
import { foulBeforeTheSnap, settleFouls } from './penalties.ts';
import { carry, endAcross, pass, setDistanceFromSideline } from './runs-and-passes.ts';
import { clamp, firstAndTen, type GameState, type Next, otherTeam, type Series } from './state.ts';

/** Where a ball lost or turned over is put in play by the other team; over its own goal line it is a touchback. */
const givenUpAt = (endSpot: number) => (endSpot >= 100 ? 20 : clamp(100 - endSpot, 1, 99));
const touchbackAt = 100;

/** A run or a pass from scrimmage with everything that may come of it. */
export function scrimmage(state: GameState, before: Series): Next {
  const { draws } = state;
  const { spot, down, line } = before;
  const distance = line - spot;
  const pace = tempo(state);
  const passShare =
    pace === 'hurried'
      ? 0.74
      : pace === 'slow'
        ? 0.26
        : distance >= 8 && down >= 2
          ? 0.66
          : distance <= 2
            ? 0.24
            : down === 1
              ? 0.42
              : 0.5;
  const passes = draws.chance(passShare);
  const side = anySide(state);
  const play: Play = {
    ...state.begin(passes ? 'pass' : 'run', spot, before),
    ...nothingYet,
    ...lineUp(state, pace === 'hurried'),
    playSide: side,
  };
  const { gain: free, what } = passes ? pass(state, play) : carry(state, play);
  const gain = clamp(spot + free, 0, 100) - spot;
  const intercepted = play.passResult === 'intercepted';
  const incomplete = play.passResult === 'incomplete';
  const advanced = !incomplete && !intercepted;
  play.endSpot = incomplete ? spot : spot + gain;
  let natural: Next;
  if (intercepted) natural = interception(state, play);
  else if (incomplete) {
    play.endSide = side;
    play.outOfBounds = false;
    natural = nextDown(before, spot);
  } else {
    if (play.endSpot >= 100) play.score = 'touchdown';
    else if (play.endSpot <= 0) play.score = 'safety';
    endAcross(state, play, side);
    natural = tackled(state, play, before);
  }
  play.fumbleOrDown ??= advanced && draws.chance(play.looseBall === 'fumble' ? 0.5 : 0.01);
  play.pile ??= play.looseBall === 'fumble' ? draws.chance(0.8) : !play.outOfBounds && draws.chance(0.03);
  play.drivenBack =
    advanced && play.score === 'none' && !play.outOfBounds && play.looseBall === 'none' && draws.chance(0.05);
  const reaches = advanced && play.endSpot >= line;
  const near = advanced && play.score === 'none' && play.looseBall === 'none' && line < 100;
  play.lineToGainInQuestion = near && Math.abs(play.endSpot - line) <= 1 && draws.chance(0.6);
  play.measured = play.lineToGainInQuestion && draws.chance(0.12);
  if (advanced && play.score === 'none' && play.looseBall === 'none' && draws.chance(0.0003)) {
    play.inadvertentWhistle = true;
    play.rulingsDiffered = true;
  }
  tempers(state, play);
  nameOfficials(play, draws);

  const onDowns = natural.what === 'change' && play.turnover === 'none';
  const { next, annulled, extendsPeriod } = settleFouls(state, play, before, natural, onDowns);
  if (annulled) {
    play.measured = false;
    play.lineToGainInQuestion = false;
  } else if (onDowns) play.turnover = 'downs';
  closeRulings(state, play);
  if (play.score === 'none' && !incomplete && !annulled && play.endSide) moveHash(state, play);
  passTime(state, play, `${state.place(state.ball)} ${what}${afterwords(play)}`, {
    seconds: incomplete ? draws.integer(4, 7) : draws.integer(4, 8) + (gain > 20 ? 3 : 0),
    reachesLine: reaches && !annulled,
    extendsPeriod,
  });
  return next;
}

/** The ball lies where it was dead, on the hash mark of that side; dead at a hash mark it stays there. */
export function moveHash(state: GameState, play: Play): void {
  if (play.endSide === undefined) return;
  if (play.endSpot === 100 || play.kickResult === 'touchback') {
    state.hash = 'middle';
    return;
  }
  if (play.endSide !== 'middle' || state.draws.chance(0.7)) state.hash = play.endSide;
}

function nextDown(before: Series, spot: number): Next {
  if (spot >= before.line) return { what: 'down', series: firstAndTen(spot) };
  if (before.down === 4) return { what: 'change', spot: givenUpAt(spot) };
  return { what: 'down', series: { ...before, spot, down: before.down + 1 } };
}

/** The runner is down, out, over a goal line, or has lost the ball. */
function tackled(state: GameState, play: Play, before: Series): Next {
  const { draws } = state;
  const endSpot = play.endSpot as number;
  if (play.score === 'touchdown') return { what: 'touchdown', by: state.ball };
  if (play.score === 'safety') return { what: 'safety', against: state.ball };
  const loses = play.passResult === 'sack' ? 0.11 : play.passResult === 'complete' ? 0.009 : 0.012;
  if (!draws.chance(loses)) {
    const out = play.passResult === 'sack' ? 0.02 : play.kind === 'pass' ? 0.26 : 0.17;
    setDistanceFromSideline(state, play, out);
    return nextDown(before, endSpot);
  }
  play.looseBall = 'fumble';
  play.looseBallSpot = clamp(endSpot, 1, 99);
  play.looseBallSide = play.endSide as NonNullable<Play['endSide']>;
  if (draws.chance(0.48)) {
    play.turnover = 'fumble';
    if (draws.chance(0.06)) {
      play.endSpot = 0;
      play.score = 'touchdown';
      return { what: 'touchdown', by: otherTeam(state.ball) };
    }
    play.endSpot = clamp(endSpot - draws.integer(0, 4), 1, 99);
    return { what: 'change', spot: givenUpAt(play.endSpot) };
  }
  play.endSpot = clamp(endSpot - draws.integer(0, 2), 1, 99);
  return nextDown(before, play.endSpot);
}

function interception(state: GameState, play: Play): Next {
  const { draws } = state;
  const caughtAt = Math.min(touchbackAt, play.spot + (play.catchDepth ?? 0));
  play.turnover = 'interception';
  endAcross(state, play, play.playSide ?? 'middle');
  if (draws.chance(0.06)) {
    play.endSpot = 0;
    play.score = 'touchdown';
    play.yardsFromSideline = 10;
    if (play.endSide === 'middle') play.yardsFromSideline = 22;
    return { what: 'touchdown', by: otherTeam(state.ball) };
  }
  if (caughtAt >= 100) play.endSpot = touchbackAt;
  else {
    // Carried into the end zone by the force of the catch: the ball belongs at the spot of the catch.
    play.momentum = caughtAt >= 93 && draws.chance(0.7);
    const back = play.momentum || draws.chance(0.45) ? 0 : draws.integer(1, 25);
    play.endSpot = clamp(caughtAt - back, 1, 99);
    if (!play.momentum) setDistanceFromSideline(state, play, 0.25);
  }
  return { what: 'change', spot: givenUpAt(play.endSpot) };
}

function afterwords(play: Play): string {
  if (play.inadvertentWhistle) return ', inadvertent whistle';
  if (play.momentum) return ', carried into the end zone by the catch';
  if (play.looseBall === 'fumble') return play.turnover === 'fumble' ? ', fumble lost' : ', fumble recovered';
  return '';
}

/** The quarterback takes a knee, to let the clock run. */
export function kneel(state: GameState, before: Series): Next {
  const { draws } = state;
  const gain = -Math.min(draws.integer(1, 2), before.spot - 1);
  const play: Play = {
    ...state.begin('run', before.spot, before),
    ...nothingYet,
    ...{ strongSide: 'middle', shift: false, hurryUp: false, offenseSubstituted: false, motion: 'none' },
    ...{
      snapFor: 'kneel',
      playSide: 'middle',
      carrier: 'quarterback',
      backwardPass: false,
      drivenBack: false,
    },
    ...{ endSpot: before.spot + gain, endSide: 'middle', outOfBounds: false, yardsFromSideline: 24 },
    ...{ pile: false, fumbleOrDown: false, lineToGainInQuestion: false, measured: false },
    confrontation: draws.chance(0.01),
  };
  nameOfficials(play, draws);
  const next = nextDown(before, before.spot + gain);
  passTime(state, play, `${state.place(state.ball)} takes a knee`, { seconds: 2, kneel: true });
  return next;
}

/** The passer throws the ball to the ground at once, to stop the clock. */
export function spike(state: GameState, before: Series): Next {
  const play: Play = {
    ...state.begin('pass', before.spot, before),
    ...nothingYet,
    ...{ strongSide: 'middle', shift: false, hurryUp: true, offenseSubstituted: false, motion: 'none' },
    ...{ snapFor: 'spike', playSide: 'middle', passResult: 'incomplete', quickPass: true, pressure: false },
    ...{ catchInQuestion: false, backwardPass: false, drivenBack: false, outOfBounds: false },
    ...{ endSpot: before.spot, endSide: 'middle', pile: false, fumbleOrDown: false },
    ...{ lineToGainInQuestion: false, measured: false },
  };
  passTime(state, play, `${state.place(state.ball)} spikes the ball`, { seconds: 1 });
  return { what: 'down', series: { ...before, down: before.down + 1 } };
}

/** The whistle comes before the ball is put in play. */
export function noSnap(state: GameState, before: Series): Next {
  const play: Play = { ...state.begin('no snap', before.spot, before), ...nothingYet, measured: false };
  const series = foulBeforeTheSnap(play, before, state.draws);
  const foul = play.fouls![0]!;
  play.coachDispute = state.draws.chance(0.03);
  const by = foul.by === 'offense' ? state.ball : otherTeam(state.ball);
  passTime(state, play, `${foul.foul}, ${state.place(by)}`, { seconds: 0 });
  return { what: 'down', series };
}
