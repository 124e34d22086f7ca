import type { Play } from '../../server/football/play.ts';
import type { GameState } from './state.ts';

/** What may happen on or after any play in which players meet: injuries, helmets, words. Before the fouls are drawn. */
export function tempers(state: GameState, play: Play): void {
  const { draws } = state;
  play.injury = draws.chance(0.012);
  play.helmetOff = !play.injury && draws.chance(0.006);
  if (play.helmetOff) play.helmetOffByFoul = draws.chance(0.2);
  play.confrontation = draws.chance(play.score === 'touchdown' ? 0.02 : 0.008);
}

/** Rulings that were close: who differed, what was reviewed, who disputed it. After the fouls are settled. */
export function closeRulings(state: GameState, play: Play): void {
  const { draws } = state;
  const close =
    play.catchInQuestion === true ||
    play.fumbleOrDown === true ||
    play.looseBall === 'fumble' ||
    play.firstTouching === true;
  const changed =
    play.score === 'touchdown' || play.turnover === 'interception' || play.turnover === 'fumble';
  const sideline = play.outOfBounds === true || play.backwardPass === true;
  play.rulingsDiffered = draws.chance(close ? 0.09 : changed ? 0.02 : sideline ? 0.008 : 0);
  if (play.replay === 'none' && draws.chance(close && changed ? 0.4 : close ? 0.15 : changed ? 0.09 : 0.003))
    play.replay = draws.weighted({ confirmed: 0.44, stands: 0.28, overturned: 0.28 });
  const flagged = (play.fouls ?? []).length > 0;
  play.coachDispute = draws.chance(flagged ? 0.07 : close ? 0.09 : 0.006);
}
