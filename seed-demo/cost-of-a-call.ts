import type { Consequence } from '../server/duties/consequence.ts';
import type { Play } from '../server/football/play.ts';
import type { Draws } from './draws.ts';
import type { Failure } from './truth.ts';

/** Observers leave out what they cannot tell from the stands: of every four calls they judge about three. */
const judgedShare = 0.75;

type Chances = Readonly<Partial<Record<Consequence, number>>>;

/** Rulings on whether points were made, and on who has the ball. */
const onAScore: readonly string[] = ['call-touchdown', 'call-safety', 'call-the-uprights'];
const onTheBall: readonly string[] = [
  'call-catch-or-no-catch',
  'call-forward-or-backward',
  'call-fumble-or-down',
  'rule-pass-or-fumble',
  'call-kick-touching',
];
/** Fouls by the team with the ball, without which its score would not stand. */
const byTheOffense =
  /holding-at-the-line|holding-on-the-edge|holding-on-the-tackles|blocks|ineligible|illegal|line-fouls/;

/**
 * What a wrong call or a missed foul on this play cost, as an observer judges it; null where none was judged. A ruling
 * that a review turned around cost nothing. Invented shares.
 */
export function costOfACall(dutyKey: string, failure: Failure, play: Play, draws: Draws): Consequence | null {
  const isJudged = draws.chance(judgedShare);
  const cost = draws.weighted({
    none: 0,
    yards: 0,
    possession: 0,
    score: 0,
    ...chancesOf(dutyKey, failure, play),
  });
  return isJudged ? cost : null;
}

function chancesOf(dutyKey: string, failure: Failure, play: Play): Chances {
  const isLastDown = play.down === 4 || play.kind === 'punt';
  const isLateDown = isLastDown || play.down === 3;
  const scored = play.score !== undefined && play.score !== 'none';
  if (failure === 'missed foul') {
    if (scored && byTheOffense.test(dutyKey)) return { score: 3, yards: 1 };
    return { none: 4, yards: 8, possession: isLateDown ? 3 : 0 };
  }
  if (failure === 'wrong flag')
    return { none: 2, yards: 9, possession: isLateDown ? 4 : 0, score: scored ? 1 : 0 };
  if (play.replay === 'overturned') return { none: 1 };
  if (onAScore.includes(dutyKey)) return { score: 8, none: 1 };
  if (onTheBall.includes(dutyKey))
    return { none: 1, yards: isLateDown ? 2 : 6, possession: isLateDown ? 5 : 2 };
  if (dutyKey === 'call-the-line-to-gain') return { none: 2, yards: 1, possession: isLateDown ? 6 : 1 };
  if (dutyKey === 'call-in-or-out') return { none: 2, yards: 6, score: scored ? 6 : 0 };
  return { none: 6, yards: 5, possession: isLateDown && play.lineToGainInQuestion === true ? 3 : 0 };
}
