import type { Foul } from '../../server/football/fouls.ts';
import type { Play } from '../../server/football/play.ts';
import { lanes } from '../../server/football/sides.ts';
import { anySide, nothingYet } from './before-the-snap.ts';
import { passTime } from './clock.ts';
import { nameOfficials } from './officials.ts';
import { setDistanceFromSideline } from './runs-and-passes.ts';
import { moveHash } from './scrimmage.ts';
import { clamp, firstAndTen, type GameState, type Next, otherTeam, type TeamAt } from './state.ts';

/** The free kick that starts a half or follows a score, by the team named. */
export function freeKick(state: GameState, kicker: TeamAt, spot: number): Next {
  const { draws } = state;
  state.ball = kicker;
  const late = state.quarter === 4 && state.lead < 0 && state.lead >= -16;
  const onside = spot === 35 && late && state.clock < (state.lead < -8 ? 420 : 230) && draws.chance(0.85);
  const play: Play = {
    ...state.begin('free kick', spot),
    ...nothingYet,
    fumbleOrDown: false,
    onside,
    firstTouching: false,
    momentum: false,
    fairCatchSignal: false,
    pile: false,
    outOfBounds: false,
    kickSide: anySide(state),
    injury: draws.chance(0.006),
    confrontation: draws.chance(0.01),
  };
  play.endSide = play.kickSide as NonNullable<Play['kickSide']>;
  state.hash = 'middle';
  const next = onside ? keptShort(state, play) : kickedDeep(state, play);
  nameOfficials(play, draws);
  play.coachDispute = draws.chance(onside ? 0.08 : 0.004);
  if (play.kickResult !== 'touchback' && play.score === 'none') moveHash(state, play);
  const live = play.kickResult === 'returned' ? draws.integer(4, 8) : onside ? draws.integer(1, 4) : 0;
  passTime(
    state,
    play,
    `${state.place(kicker)} ${onside ? 'onside kick' : 'kickoff'}, ${words(play, next)}`,
    {
      seconds: live,
    },
  );
  return next;
}

function words(play: Play, next: Next): string {
  if (!play.onside) return play.kickResult ?? '';
  return next.what === 'down' ? 'recovered by the kickers' : 'recovered by the receivers';
}

function keptShort(state: GameState, play: Play): Next {
  const { draws } = state;
  const tooEarly = draws.chance(0.15);
  play.kickTo = play.spot + (tooEarly ? draws.integer(6, 9) : draws.integer(10, 14));
  play.endSpot = tooEarly ? play.kickTo : play.kickTo + draws.integer(0, 2);
  play.pile = draws.chance(0.8);
  play.looseBall = draws.chance(0.7) && !tooEarly ? 'muff' : 'none';
  if (play.looseBall === 'muff') {
    play.looseBallSpot = play.kickTo;
    play.looseBallSide = play.endSide as NonNullable<Play['endSide']>;
  }
  play.kickResult = 'downed';
  play.firstTouching = tooEarly;
  setDistanceFromSideline(state, play, 0);
  if (draws.chance(0.3)) play.replay = draws.weighted({ confirmed: 0.5, stands: 0.3, overturned: 0.2 });
  if (tooEarly) play.kickTouchedBy = 'kicking team';
  else if (draws.chance(0.14)) {
    play.kickTouchedBy = play.looseBall === 'muff' ? 'both' : 'kicking team';
    return { what: 'down', series: firstAndTen(play.endSpot) };
  } else play.kickTouchedBy = 'receiving team';
  return { what: 'change', spot: 100 - play.endSpot };
}

function kickedDeep(state: GameState, play: Play): Next {
  const { draws } = state;
  const afterSafety = play.spot !== 35;
  play.kickTouchedBy = 'nobody';
  play.kickResult = afterSafety
    ? draws.weighted({ returned: 0.8, 'fair catch': 0.2 })
    : draws.weighted({
        touchback: 0.545,
        returned: 0.4,
        'fair catch': 0.015,
        'out of bounds': 0.03,
        downed: 0.01,
      });
  if (play.kickResult === 'touchback') {
    play.kickTo = 100;
    play.endSpot = 100;
    return { what: 'change', spot: 25 };
  }
  if (play.kickResult === 'out of bounds') {
    if (play.kickSide === 'middle') play.kickSide = draws.pick(['head linesman side', 'line judge side']);
    play.endSide = play.kickSide as NonNullable<Play['kickSide']>;
    play.kickTo = draws.integer(80, 97);
    play.endSpot = play.kickTo;
    play.outOfBounds = true;
    play.yardsFromSideline = 0;
    const reportedBy = play.endSide === 'line judge side' ? 'line judge' : 'head linesman';
    play.fouls = [
      {
        ...{ foul: 'free kick out of bounds', by: 'offense', reportedBy, outcome: 'accepted' },
        ...{ moment: 'live ball', spot: play.kickTo },
      } as Foul,
    ];
    return { what: 'change', spot: 35 };
  }
  setDistanceFromSideline(state, play, 0);
  play.kickTo = afterSafety ? draws.integer(72, 88) : draws.integer(90, 99);
  if (play.kickResult === 'downed') {
    play.kickTo = draws.integer(84, 96);
    play.kickTouchedBy = 'kicking team';
    play.firstTouching = true;
    play.endSpot = play.kickTo;
    return { what: 'change', spot: 100 - play.endSpot };
  }
  play.kickTouchedBy = 'receiving team';
  if (play.kickResult === 'fair catch') {
    play.fairCatchSignal = true;
    play.kickTo = draws.integer(66, 74);
    play.endSpot = play.kickTo;
    return { what: 'change', spot: 100 - play.endSpot };
  }
  play.playSide = draws.chance(0.6) ? (play.kickSide as NonNullable<Play['kickSide']>) : draws.pick(lanes);
  play.endSide = play.playSide;
  if (draws.chance(0.008)) {
    play.endSpot = 0;
    play.score = 'touchdown';
    return { what: 'touchdown', by: otherTeam(state.ball) };
  }
  const at = clamp(draws.chance(0.06) ? draws.integer(35, 75) : draws.normal(24, 6), 8, 90);
  play.endSpot = 100 - at;
  setDistanceFromSideline(state, play, 0.2);
  return returnFouls(state, play, at);
}

function returnFouls(state: GameState, play: Play, at: number): Next {
  const { draws } = state;
  const reportedBy = draws.pick(['side judge', 'field judge', 'center judge'] as const);
  const player = String(draws.integer(1, 59));
  const live = { moment: 'live ball', player } as const;
  if (draws.chance(0.07)) {
    const yards = Math.min(10, Math.floor(at / 2));
    play.fouls = [
      ...[
        {
          foul: draws.chance(0.6) ? 'holding' : 'block in the back',
          by: 'defense',
          reportedBy,
          outcome: 'accepted',
          ...live,
          spot: 100 - at,
        } as Foul,
      ],
    ];
    return { what: 'change', spot: at - yards };
  }
  if (draws.chance(0.01))
    play.fouls = [
      { foul: 'offside', by: 'offense', reportedBy: 'umpire', outcome: 'declined', ...live, spot: play.spot },
    ];
  return { what: 'change', spot: at };
}
