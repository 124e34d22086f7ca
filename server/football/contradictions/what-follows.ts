import { type Code, codeFacts } from '../codes.ts';
import type { Play } from '../play.ts';
import { certainlyNoPenalty } from './contradiction.ts';

/** How the next snap may start. What is left out can be anything. */
export interface Start {
  readonly ball: 'the same team' | 'the other team';
  readonly spot?: number;
  readonly down: number;
  readonly distance?: number;
}

/**
 * Every way in which the next down can start after a play, as far as its facts tell: more than one where they leave
 * something open, none where they do not tell enough. In whole yards of the next offense's frame.
 */
export function whatFollows(last: Play, code: Code): readonly Start[] {
  if (!certainlyNoPenalty(last) || last.replay === 'overturned' || last.inadvertentWhistle) return [];
  switch (last.kind) {
    case 'run':
    case 'pass':
      return afterADown(last);
    case 'punt':
    case 'free kick':
      return afterAKick(last, code);
    case 'place kick':
      // Where the other team starts after a miss depends on where it was kicked from and came down.
      return last.kickResult === 'no good' ? [{ ball: 'the other team', down: 1 }] : [];
    case 'no snap':
      return sameDown(last);
    case 'try':
      return [];
  }
}

const theirs = (end: number): Start => ({ ball: 'the other team', spot: 100 - end, down: 1 });

function sameDown({ spot, down, distance }: Play): Start[] {
  return down === undefined ? [] : [{ ball: 'the same team', spot, down, ...(distance && { distance }) }];
}

function afterADown(last: Play): Start[] {
  const { kind, passResult, looseBall, turnover, outOfBounds } = last;
  if (last.score !== 'none' || (kind === 'pass' && passResult === undefined)) return [];
  // A fumble that goes out of bounds may go back to where it was lost.
  if (looseBall === 'fumble' && outOfBounds !== false) return [];
  const end = passResult === 'incomplete' ? last.spot : last.endSpot;
  if (end === undefined || end === 0 || end === 100) return [];
  if (turnover === 'interception' || turnover === 'fumble' || turnover === 'downs') return [theirs(end)];
  const starts = ifTheBallIsKept(last, end);
  if (turnover === undefined && starts.length > 0) starts.push(theirs(end));
  return starts;
}

function ifTheBallIsKept(last: Play, end: number): Start[] {
  const { down, distance, spot } = last;
  if (down === undefined || distance === undefined) return [];
  const gain = end - spot;
  // In whole yards, a ball within a yard of the line to gain may be on either side of it.
  const close = Math.abs(gain - distance) <= 1 && last.lineToGainInQuestion !== false;
  const starts: Start[] = [];
  if (gain >= distance || close) {
    starts.push({ ball: 'the same team', spot: end, down: 1, distance: Math.min(10, 100 - end) });
  }
  if (gain < distance || close) {
    if (down === 4) starts.push(theirs(end));
    else
      starts.push({
        ball: 'the same team',
        spot: end,
        down: down + 1,
        distance: Math.max(1, distance - gain),
      });
  }
  return starts;
}

function afterAKick(last: Play, code: Code): Start[] {
  const { kind, kickResult, endSpot, looseBall } = last;
  const rules = codeFacts[code];
  if (last.score !== 'none' || kickResult === undefined || last.momentum) return [];
  if (kickResult === 'touchback') {
    const spot = kind === 'punt' ? rules.touchbackOfPunt : rules.touchbackOfFreeKick;
    return [{ ball: 'the other team', spot, down: 1 }];
  }
  if (kickResult === 'blocked' || (kind === 'free kick' && kickResult === 'out of bounds')) return [];
  if (endSpot === undefined || endSpot <= 0 || endSpot >= 100) return [];
  // Where the kicking team touched it first, the other team may have the ball there instead.
  const touchedFirst = last.firstTouching !== false && kickResult !== 'fair catch';
  const starts: Start[] = [touchedFirst ? { ball: 'the other team', down: 1 } : theirs(endSpot)];
  if (kind === 'free kick' && kickResult === 'fair catch') {
    starts.push({ ball: 'the other team', spot: rules.touchbackOfFreeKick, down: 1 });
  }
  const lost = looseBall === 'muff' || looseBall === 'fumble' || last.turnover !== 'none';
  if ((lost && kickResult !== 'fair catch') || (kind === 'free kick' && kickResult === 'downed')) {
    starts.push({ ball: 'the same team', spot: endSpot, down: 1 });
  }
  return starts;
}
