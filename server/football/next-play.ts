import type { Play } from './play.ts';

/** Where the ball is put in play after a score or a touchback: common practice, no source; the log can be corrected. */
const usualSpots = { freeKick: 35, freeKickAfterSafety: 20, try: 97, touchback: 25, puntTouchback: 20 };

/**
 * What the next play most likely starts from, to be corrected by whoever logs it: quarter and clock carried on, down,
 * distance and spot worked out from how this play ended. What cannot be worked out is left as it was.
 */
export function nextPlay(last: Play | undefined): Play {
  if (!last) return { kind: 'free kick', spot: usualSpots.freeKick, quarter: 1, clockSeconds: 900 };
  const when: Partial<Play> = {};
  if (last.quarter !== undefined) when.quarter = last.quarter;
  if (last.clockSeconds !== undefined) when.clockSeconds = last.clockSeconds;

  if (last.score === 'touchdown') return { ...when, kind: 'try', spot: usualSpots.try };
  if (last.score === 'safety') return { ...when, kind: 'free kick', spot: usualSpots.freeKickAfterSafety };
  if (last.kind === 'try' || last.score === 'field goal') {
    return { ...when, kind: 'free kick', spot: usualSpots.freeKick };
  }
  const firstAndTen = (spot: number): Play => ({
    ...when,
    kind: 'run',
    spot,
    down: 1,
    distance: Math.max(1, Math.min(10, 100 - spot)),
  });
  const end = last.passResult === 'incomplete' ? last.spot : last.endSpot;
  const otherTeamAt = (spot: number) => firstAndTen(Math.max(1, Math.min(99, 100 - spot)));
  if (last.kickResult === 'touchback') {
    return firstAndTen(last.kind === 'punt' ? usualSpots.puntTouchback : usualSpots.touchback);
  }
  const kicked = last.kind === 'free kick' || last.kind === 'punt' || last.kind === 'place kick';
  const lost = last.turnover !== undefined && last.turnover !== 'none';
  if (kicked || lost) return end === undefined ? { ...when, kind: 'run', spot: 25 } : otherTeamAt(end);

  const { down, distance } = last;
  if (down === undefined || distance === undefined || end === undefined || last.kind === 'no snap') {
    const carried: Play = { ...when, kind: 'run', spot: end ?? last.spot };
    if (down !== undefined) carried.down = down;
    if (distance !== undefined) carried.distance = distance;
    return carried;
  }
  const gain = end - last.spot;
  if (gain >= distance) return firstAndTen(Math.min(99, end));
  if (down === 4) return otherTeamAt(end);
  return {
    ...when,
    kind: down === 3 ? 'punt' : 'run',
    spot: Math.max(0, end),
    down: down + 1,
    distance: Math.min(99, distance - gain),
  };
}

const happensRarely = {
  pressure: false,
  backwardPass: false,
  drivenBack: false,
  looseBall: 'none',
  fumbleOrDown: false,
  pile: false,
  lineToGainInQuestion: false,
  measured: false,
  score: 'none',
  turnover: 'none',
  fouls: [],
  helmetOff: false,
  injury: false,
  confrontation: false,
  coachDispute: false,
  timeout: 'none',
  offenseSubstituted: false,
  hurryUp: false,
  motion: 'none',
} as const satisfies Partial<Play>;

/** The play with "did not happen" noted for everything out of the ordinary that was left open. */
export function nothingElseHappened(play: Play): Play {
  const passOnly = play.kind === 'pass' ? { catchInQuestion: false } : {};
  const notOnKicks =
    play.kind === 'free kick' || play.kind === 'punt' || play.kind === 'place kick'
      ? { firstTouching: false, onside: false }
      : {};
  return { ...happensRarely, ...passOnly, ...notOnKicks, fouls: [], ...play };
}
