import type { Play } from '../../server/football/play.ts';
import { lanes } from '../../server/football/sides.ts';
import type { Draws } from '../draws.ts';
import { anySide, kickingLineUp, lineUp, nothingYet } from './before-the-snap.ts';
import { passTime } from './clock.ts';
import { nameOfficials } from './officials.ts';
import { type GameState, type Next, otherTeam, type Series, type TeamAt } from './state.ts';

/** Holder and end zone: the kick is from this much behind the snap, and the posts are ten yards behind the goal line. */
export const kickIsLonger = 17;

const goodFrom = (length: number) =>
  length < 30 ? 0.95 : length < 40 ? 0.86 : length < 50 ? 0.68 : length < 56 ? 0.48 : 0.25;

const kickersHit = (draws: Draws): NonNullable<Play['fouls']>[number] => ({
  ...{ foul: 'roughing the kicker', by: 'defense', reportedBy: 'referee', outcome: 'declined' },
  ...{ player: String(draws.integer(1, 59)), moment: 'live ball' },
});

export function fieldGoal(state: GameState, before: Series): Next {
  const { draws } = state;
  const { spot } = before;
  const length = 100 - spot + kickIsLonger;
  const good = draws.chance(goodFrom(length));
  const blocked = !good && draws.chance(0.11);
  const play: Play = {
    ...state.begin('place kick', spot, before),
    ...nothingYet,
    ...kickingLineUp,
    snapFor: 'play',
    kickResult: good ? 'good' : blocked ? 'blocked' : 'no good',
    confrontation: draws.chance(0.008),
    coachDispute: draws.chance(good ? 0.004 : 0.02),
  };
  let next: Next = { what: 'field goal' };
  if (good) play.score = 'field goal';
  else if (blocked) {
    play.looseBall = 'blocked kick';
    play.kickCrossed = false;
    play.looseBallSpot = Math.max(1, spot - draws.integer(1, 6));
    play.looseBallSide = 'middle';
    play.endSpot = Math.max(1, play.looseBallSpot - draws.integer(0, 6));
    play.endSide = draws.pick(lanes);
    play.outOfBounds = false;
    play.pile = draws.chance(0.6);
    next = { what: 'change', spot: 100 - play.endSpot };
  } else {
    // A missed kick comes back to where it was snapped, but not inside the 20.
    play.endSpot = Math.min(spot, 80);
    play.endSide = state.hash;
    next = { what: 'change', spot: 100 - play.endSpot };
  }
  if (!blocked) play.pile = false;
  if (good && draws.chance(0.015)) play.fouls = [kickersHit(draws)];
  nameOfficials(play, draws);
  const note = `${state.place(state.ball)} field goal try from ${length} yards, ${play.kickResult}`;
  passTime(state, play, note, { seconds: draws.integer(4, 6) });
  return next;
}

/** The try of the team that scored; returns whether it took its points. */
export function tryForPoint(state: GameState, team: TeamAt): void {
  const { draws } = state;
  state.ball = team;
  state.hash = 'middle';
  const behind = -state.lead;
  const mustGoForTwo = state.quarter >= 6;
  const wantsTwo = state.quarter >= 4 && [2, 5, 10].includes(behind);
  const two = mustGoForTwo || draws.chance(wantsTwo ? 0.75 : 0.05);
  const tryBy = !two ? 'kick' : draws.chance(0.6) ? 'pass' : 'run';
  const good = draws.chance(tryBy === 'kick' ? 0.965 : 0.45);
  const play: Play = {
    ...state.begin('try', 97),
    ...nothingYet,
    tryBy,
    score: good ? 'try good' : 'none',
    confrontation: draws.chance(0.015),
    pile: false,
  };
  if (tryBy === 'kick') {
    Object.assign(play, kickingLineUp);
    play.snapFor = 'play';
    play.kickResult = good ? 'good' : draws.chance(0.15) ? 'blocked' : 'no good';
    if (play.kickResult === 'blocked') play.looseBall = 'blocked kick';
  } else {
    const playSide = anySide(state);
    Object.assign(play, lineUp(state, false), { playSide });
    play.endSide = playSide;
    play.outOfBounds = false;
    if (tryBy === 'run') {
      play.carrier = draws.chance(0.4) ? 'quarterback' : 'other';
      play.endSpot = good ? 100 : draws.integer(96, 99);
    } else {
      play.passResult = good || draws.chance(0.12) ? 'complete' : 'incomplete';
      play.pressure = draws.chance(0.25);
      play.quickPass = draws.chance(0.4);
      play.throwDepth = -draws.integer(3, 7);
      play.catchDepth = good
        ? draws.integer(2, 9)
        : draws.integer(-1, play.passResult === 'complete' ? 1 : 9);
      play.catchInQuestion = draws.chance(0.1);
      play.endSpot = good ? 100 : play.passResult === 'complete' ? 97 + play.catchDepth : 97;
    }
    nameOfficials(play, draws);
  }
  if (good) state.score[team] += tryBy === 'kick' ? 1 : 2;
  if (state.quarter <= 4) {
    play.clockAfter = 'stopped';
    if (good) play.clockStoppedFor = 'score';
    play.clockStartsOn = 'snap';
  }
  state.clockBefore = 'snap';
  state.write(play, `${state.place(team)} try by ${tryBy}, ${good ? 'good' : 'no good'}`);
}

/** After the last play of the game a try that can't change the outcome is not made. */
export function triesAfter(state: GameState, team: TeamAt): boolean {
  const lead = state.score[team] - state.score[otherTeam(team)];
  if (state.quarter > 4) return true;
  return !(state.quarter === 4 && state.clock <= 0 && (lead > 2 || lead < -2 || lead > 0));
}
