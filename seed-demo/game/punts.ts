import type { Foul } from '../../server/football/fouls.ts';
import type { Play } from '../../server/football/play.ts';
import { lanes } from '../../server/football/sides.ts';
import { anySide, kickingLineUp, nothingYet } from './before-the-snap.ts';
import { passTime } from './clock.ts';
import { nameOfficials } from './officials.ts';
import { setDistanceFromSideline } from './runs-and-passes.ts';
import { moveHash } from './scrimmage.ts';
import { clamp, firstAndTen, type GameState, type Next, otherTeam, type Series } from './state.ts';

export function punt(state: GameState, before: Series): Next {
  const { draws } = state;
  const { spot } = before;
  const play: Play = {
    ...state.begin('punt', spot, before),
    ...nothingYet,
    ...kickingLineUp,
    snapFor: 'play',
    firstTouching: false,
    onside: false,
    momentum: false,
    fairCatchSignal: false,
    pile: false,
    outOfBounds: false,
    injury: draws.chance(0.012),
    helmetOff: draws.chance(0.004),
    confrontation: draws.chance(0.015),
  };
  if (play.helmetOff) play.helmetOffByFoul = false;
  const next = draws.chance(0.014) ? blockedPunt(state, play) : kickedAway(state, play);
  nameOfficials(play, draws);
  const settled = settle(state, play, before, next);
  play.coachDispute = draws.chance((play.fouls ?? []).length > 0 ? 0.06 : 0.01);
  if (play.looseBall === 'muff' && draws.chance(0.3))
    play.replay = draws.weighted({ confirmed: 0.5, stands: 0.3, overturned: 0.2 });
  if (settled === next && play.score === 'none') moveHash(state, play);
  const note = `${state.place(state.ball)} punt, ${play.kickResult}${play.looseBall === 'muff' ? ', muffed' : ''}`;
  passTime(state, play, note, { seconds: draws.integer(7, 13) });
  return settled;
}

function blockedPunt(state: GameState, play: Play): Next {
  const { draws } = state;
  play.kickResult = 'blocked';
  play.looseBall = 'blocked kick';
  play.kickCrossed = false;
  play.kickTouchedBy = 'nobody';
  play.pile = draws.chance(0.7);
  play.looseBallSpot = Math.max(1, play.spot - draws.integer(8, 12));
  play.looseBallSide = 'middle';
  play.endSide = draws.pick(lanes);
  play.yardsFromSideline = play.endSide === 'middle' ? 23 : 12;
  play.endSpot = Math.max(0, play.looseBallSpot - draws.integer(0, 14));
  if (play.endSpot > 0) return { what: 'change', spot: 100 - play.endSpot };
  if (draws.chance(0.5)) {
    play.score = 'safety';
    return { what: 'safety', against: state.ball };
  }
  play.score = 'touchdown';
  return { what: 'touchdown', by: otherTeam(state.ball) };
}

function kickedAway(state: GameState, play: Play): Next {
  const { draws } = state;
  const lands = play.spot + clamp(draws.normal(43, 6), 18, 64);
  play.kickCrossed = true;
  play.kickSide = anySide(state);
  play.endSide = play.kickSide;
  play.kickTouchedBy = 'nobody';
  const ends = (spot: number): Next => {
    play.endSpot = clamp(spot, 1, 99);
    return { what: 'change', spot: 100 - play.endSpot };
  };
  if (lands >= 100 && draws.chance(0.8)) {
    play.kickResult = 'touchback';
    play.kickTo = 100;
    play.endSpot = 100;
    return { what: 'change', spot: 20 };
  }
  play.kickTo = Math.min(lands, draws.integer(94, 98));
  const deep = play.kickTo >= 90;
  play.kickResult = deep
    ? draws.weighted({ returned: 0.12, 'fair catch': 0.33, downed: 0.43, 'out of bounds': 0.12 })
    : draws.weighted({ returned: 0.43, 'fair catch': 0.33, downed: 0.13, 'out of bounds': 0.11 });
  if (play.kickResult === 'out of bounds') {
    if (play.kickSide === 'middle') play.kickSide = draws.pick(['head linesman side', 'line judge side']);
    play.endSide = play.kickSide;
    play.outOfBounds = true;
    play.yardsFromSideline = 0;
    return ends(play.kickTo);
  }
  setDistanceFromSideline(state, play, 0);
  if (play.kickResult === 'downed') {
    play.firstTouching = draws.chance(0.6);
    if (play.firstTouching) play.kickTouchedBy = 'kicking team';
    play.fairCatchSignal = draws.chance(0.15);
    return ends(play.kickTo);
  }
  play.kickTouchedBy = 'receiving team';
  play.fairCatchSignal = play.kickResult === 'fair catch' || draws.chance(0.01);
  if (draws.chance(0.035)) return muffed(state, play);
  if (play.kickResult === 'fair catch') return ends(play.kickTo);
  play.momentum = play.kickTo >= 94 && draws.chance(0.5);
  play.playSide = draws.chance(0.6) ? play.kickSide : draws.pick(lanes);
  play.endSide = play.playSide;
  if (play.momentum) return ends(play.kickTo);
  if (draws.chance(0.012)) {
    play.score = 'touchdown';
    play.endSpot = 0;
    return { what: 'touchdown', by: otherTeam(state.ball) };
  }
  setDistanceFromSideline(state, play, 0.25);
  return ends(play.kickTo - draws.integer(0, draws.chance(0.12) ? 35 : 13));
}

/** The returner does not hold it: recovered by either team where it lies. */
function muffed(state: GameState, play: Play): Next {
  const { draws } = state;
  const at = play.kickTo as number;
  play.looseBall = 'muff';
  play.looseBallSpot = at;
  play.looseBallSide = play.kickSide as NonNullable<Play['kickSide']>;
  play.pile = draws.chance(0.8);
  play.endSpot = clamp(at + draws.integer(-2, 2), 1, 99);
  if (draws.chance(0.45)) {
    play.kickResult = 'downed';
    play.kickTouchedBy = 'both';
    play.turnover = 'fumble';
    return { what: 'down', series: firstAndTen(play.endSpot) };
  }
  play.kickResult = 'returned';
  return { what: 'change', spot: 100 - play.endSpot };
}

/** The fouls of a punt: on the kicker, on the catch, on the return. */
function settle(state: GameState, play: Play, before: Series, next: Next): Next {
  const { draws } = state;
  const foul = (name: string, by: Foul['by'], reportedBy: Foul['reportedBy'], spot: number): Foul => ({
    ...{ foul: name, by, outcome: 'accepted', moment: 'live ball', player: String(draws.integer(1, 59)) },
    ...(reportedBy === undefined ? {} : { reportedBy }),
    spot: clamp(spot, 0, 100),
  });
  const deep =
    play.kickSide === 'head linesman side'
      ? 'side judge'
      : play.kickSide === 'middle'
        ? 'back judge'
        : 'field judge';
  if (next.what !== 'change') return next;
  const moved = (at: number, yards: number): Next => ({ what: 'change', spot: clamp(at + yards, 1, 99) });
  const touched = play.kickResult === 'returned' || play.kickResult === 'fair catch';
  if (draws.chance(0.012) && play.kickResult !== 'blocked') {
    const running = draws.chance(0.65);
    const yards = running ? 5 : 15;
    const spot = Math.min(before.spot + yards, 99);
    const taken = !running || spot >= before.line;
    const hit = foul(
      running ? 'running into the kicker' : 'roughing the kicker',
      'defense',
      'referee',
      before.spot - 12,
    );
    play.fouls = [{ ...hit, outcome: taken ? 'accepted' : 'declined' }];
    return taken ? { what: 'down', series: firstAndTen(spot) } : next;
  }
  if (touched && play.looseBall === 'none' && draws.chance(0.022)) {
    play.fouls = [foul('kick-catch interference', 'offense', deep, play.kickTo as number)];
    return moved(100 - (play.kickTo as number), 15);
  }
  if (play.kickResult === 'returned' && play.looseBall === 'none' && draws.chance(0.1)) {
    // Half the distance near the goal line.
    const from = next.spot;
    const yards = Math.min(10, Math.floor(from / 2));
    play.fouls = [
      foul(draws.chance(0.7) ? 'block in the back' : 'holding', 'defense', deep, play.endSpot as number),
    ];
    return moved(from, -yards);
  }
  if (touched && draws.chance(0.012)) {
    const name = draws.pick(['ineligible player downfield', 'illegal formation']);
    play.fouls = [{ ...foul(name, 'offense', 'line judge', before.spot), outcome: 'declined' }];
  }
  return next;
}
