import { type Code, type CodeFacts, codeFacts } from './codes.ts';
import { afterFouls, type Next } from './enforcement.ts';
import type { Play } from './play.ts';
import { usualSecondsOf } from './usual-seconds.ts';

type Team = NonNullable<Play['offense']>;
const other = (team: Team | undefined): Team | undefined =>
  team === undefined ? undefined : team === 'home' ? 'visitor' : 'home';

const kicks: readonly Play['kind'][] = ['free kick', 'punt', 'place kick'];

/**
 * What the next play most likely starts from, to be corrected by whoever logs it: quarter carried on, the clock about
 * what it will be, team, down, distance and spot worked out from how this play ended and which fouls were accepted.
 * What cannot be worked out is left out. Where the ball is put in play after a score or a touchback follows the
 * conference's code.
 */
export function nextPlay(last: Play | undefined, code: Code = 'college'): Play {
  const rules = codeFacts[code];
  if (!last)
    return { kind: 'free kick', spot: rules.kickoffFrom, quarter: 1, clockSeconds: rules.quarterSeconds };
  const next = afterFouls(last, afterPlay(last, rules), code);
  const when: Partial<Play> = {};
  if (last.quarter !== undefined) when.quarter = last.quarter;
  const clock = last.clockSeconds ?? last.clockAbout;
  // Nobody read it: an estimate. In overtime there is no clock.
  if (clock !== undefined && (last.quarter ?? 1) <= 4)
    when.clockAbout = Math.max(0, clock - usualSecondsOf(last, code));
  const play: Play = { ...when, ...next.play };
  if (play.distance !== undefined && play.spot < 100)
    play.distance = Math.min(play.distance, 100 - play.spot);
  const offense = next.ball === 'the same team' ? last.offense : other(last.offense);
  if (offense !== undefined) play.offense = offense;
  return play;
}

function afterPlay(last: Play, rules: CodeFacts): Next {
  const same = (play: Play): Next => ({ play, ball: 'the same team' });
  const theOther = (play: Play): Next => ({ play, ball: 'the other team' });
  const firstAndTen = (spot: number): Play => ({
    kind: 'run',
    spot,
    down: 1,
    distance: Math.max(1, Math.min(10, 100 - spot)),
  });
  const kicked = kicks.includes(last.kind);
  const lost =
    last.turnover === undefined
      ? last.passResult === 'intercepted' || last.recoveredBy === 'defense'
      : last.turnover !== 'none';

  if (last.score === 'touchdown') {
    const theTry: Play = { kind: 'try', spot: rules.tryFrom };
    return isReturned(last) ? theOther(theTry) : same(theTry);
  }
  // Before a try nobody has a down.
  if (last.kind === 'no snap' && last.down === undefined && last.spot === rules.tryFrom) {
    return same({ kind: 'try', spot: last.spot });
  }
  const seriesEnds = last.kind === 'try' || last.kind === 'place kick' || last.score === 'safety' || lost;
  if ((last.quarter ?? 0) > 4 && seriesEnds) return theOther(firstAndTen(100 - rules.overtimeFrom));
  // The team that was scored upon kicks after a safety.
  if (last.score === 'safety') return same({ kind: 'free kick', spot: rules.freeKickAfterSafetyFrom });
  if (last.kind === 'try' || last.score === 'field goal') {
    return same({ kind: 'free kick', spot: rules.kickoffFrom });
  }
  const end = last.passResult === 'incomplete' ? last.spot : atTheGoalLine(last.endSpot);
  const otherTeamAt = (spot: number) => theOther(firstAndTen(Math.max(1, Math.min(99, 100 - spot))));
  if (last.kickResult === 'touchback') {
    return theOther(
      firstAndTen(last.kind === 'free kick' ? rules.touchbackOfFreeKick : rules.touchbackOfPunt),
    );
  }
  if (lost && end === 100) return theOther(firstAndTen(rules.touchbackOfPunt));
  // A kick that the kicking team recovers beyond the line, after the other team touched it, is a new series.
  const won = last.recoveredBy === 'offense' || (last.kind !== 'place kick' && last.turnover === 'fumble');
  if (kicked && won && last.kickResult !== 'blocked' && end !== undefined)
    return same(firstAndTen(onField(end)));
  if (kicked || lost) {
    return end === undefined ? theOther({ kind: 'run', spot: rules.touchbackOfFreeKick }) : otherTeamAt(end);
  }
  const { down, distance } = last;
  if (down === undefined || distance === undefined || end === undefined || last.kind === 'no snap') {
    const carried: Play = { kind: 'run', spot: end ?? last.spot };
    if (down !== undefined) carried.down = down;
    if (distance !== undefined) carried.distance = distance;
    return same(carried);
  }
  const gain = end - last.spot;
  if (gain >= distance) return same(firstAndTen(Math.min(99, end)));
  if (down === 4) return otherTeamAt(end);
  return same({
    kind: down === 3 ? 'punt' : 'run',
    spot: Math.max(0, end),
    down: down + 1,
    distance: Math.min(99, distance - gain),
  });
}

const onField = (spot: number): number => Math.max(1, Math.min(99, spot));

/** A spot behind a goal line, as that goal line. */
function atTheGoalLine(spot: number | undefined): number | undefined {
  return spot === undefined ? undefined : Math.max(0, Math.min(100, spot));
}

/** Was the ball carried back over the goal line of the team that snapped or kicked? */
function isReturned({ kind, endSpot, turnover, passResult, recoveredBy }: Play): boolean {
  const changed =
    recoveredBy === 'defense' ||
    kind === 'free kick' ||
    kind === 'punt' ||
    kind === 'place kick' ||
    passResult === 'intercepted' ||
    (turnover !== undefined && turnover !== 'none');
  return changed && endSpot !== undefined && endSpot <= 0;
}
