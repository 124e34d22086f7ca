import type { Code } from './codes.ts';
import { contradicts, impliedFacts } from './implied-facts.ts';
import type { Fact, Play, PlayKind } from './play.ts';
import { lineToGainMargin } from './yardages.ts';

// The rare facts, known not to have happened, by the plays on which they can. One list, for one touch of an observer
// ("nothing else happened") and for an import; they are never assumed.

const onAnyPlay = {
  score: 'none',
  fouls: [],
  helmetOff: false,
  helmetOffByFoul: false,
  injury: false,
  confrontation: false,
  coachDispute: false,
  ejection: false,
  timeout: 'none',
  tenSecondRunoff: false,
  inadvertentWhistle: false,
  rulingsDiffered: false,
  replay: 'none',
} as const satisfies NothingUnusual;

const oncePutInPlay = {
  drivenBack: false,
  looseBall: 'none',
  fumbleOrDown: false,
  pile: false,
  turnover: 'none',
} as const satisfies NothingUnusual;

const onASnap = {
  shift: false,
  hurryUp: false,
  offenseSubstituted: false,
  motion: 'none',
  lineToGainInQuestion: false,
  measured: false,
} as const satisfies NothingUnusual;

const onARunOrPass = { snapFor: 'play', backwardPass: false } as const satisfies NothingUnusual;
const onAPass = { pressure: false, catchInQuestion: false } as const satisfies NothingUnusual;
const onAKick = { firstTouching: false, momentum: false } as const satisfies NothingUnusual;
const onAFreeKickOrPunt = { fairCatchSignal: false } as const satisfies NothingUnusual;
/** A kick that fails to cross the neutral zone is the rare thing. */
const onAKickFromScrimmage = { kickCrossed: true } as const satisfies NothingUnusual;

type NothingUnusual = Partial<Omit<Play, 'fouls'>> & { fouls?: readonly [] };

/** "Did not happen" for everything out of the ordinary that can happen on this kind of play. */
export function nothingUnusual(kind: PlayKind): Partial<Play> {
  const any = { ...onAnyPlay, fouls: [] };
  switch (kind) {
    case 'no snap':
      return { ...any, ...onASnap };
    case 'free kick':
      return { ...any, ...oncePutInPlay, ...onAKick, ...onAFreeKickOrPunt, onside: false };
    case 'punt':
      return {
        ...any,
        ...oncePutInPlay,
        ...onASnap,
        ...onAKick,
        ...onAFreeKickOrPunt,
        ...onAKickFromScrimmage,
      };
    case 'place kick':
      return { ...any, ...oncePutInPlay, ...onASnap, ...onAKick, ...onAKickFromScrimmage };
    case 'run':
      return { ...any, ...oncePutInPlay, ...onASnap, ...onARunOrPass };
    case 'pass':
    case 'try':
      return { ...any, ...oncePutInPlay, ...onASnap, ...onARunOrPass, ...onAPass };
  }
}

/** Where the play itself makes a rare thing likely, one touch does not deny it: it stays open until it is said. */
const notRareAfter: readonly { when: (play: Play) => boolean; facts: readonly Fact[] }[] = [
  { when: ({ passResult }) => passResult === 'sack', facts: ['pressure'] },
  { when: ({ passResult }) => passResult === 'intercepted', facts: ['turnover'] },
  { when: ({ kickResult }) => kickResult === 'blocked', facts: ['looseBall', 'kickCrossed', 'turnover'] },
  { when: ({ kickResult }) => kickResult === 'downed', facts: ['firstTouching'] },
  { when: ({ kickResult }) => kickResult === 'good', facts: ['score'] },
  { when: ({ kickResult }) => kickResult === 'fair catch', facts: ['fairCatchSignal'] },
  {
    when: ({ looseBall }) => looseBall !== undefined && looseBall !== 'none',
    facts: ['pile', 'fumbleOrDown', 'turnover', 'firstTouching'],
  },
  { when: ({ turnover }) => turnover === 'fumble', facts: ['pile', 'fumbleOrDown'] },
  { when: ({ measured }) => measured === true, facts: ['lineToGainInQuestion'] },
  { when: isNearTheLineToGain, facts: ['lineToGainInQuestion'] },
  {
    when: ({ kind, down }) => down === 4 && (kind === 'run' || kind === 'pass'),
    facts: ['turnover'],
  },
  {
    when: ({ endSpot }) => endSpot !== undefined && (endSpot <= 0 || endSpot >= 100),
    facts: ['score', 'momentum'],
  },
];

function isNearTheLineToGain({ spot, distance, endSpot, kind, passResult }: Play): boolean {
  if ((kind !== 'run' && kind !== 'pass') || passResult === 'incomplete' || passResult === 'intercepted')
    return false;
  return (
    distance !== undefined && endSpot !== undefined && Math.abs(endSpot - spot - distance) <= lineToGainMargin
  );
}

/**
 * The play with "did not happen" noted for everything out of the ordinary that was left open, and with what then
 * follows from the facts: what stopped the clock, who touched a kick. Nothing is noted that would contradict what was
 * logged: a time-out stopped the clock, so one was taken.
 */
export function nothingElseHappened(play: Play, code: Code = 'college'): Play {
  const left = new Set(notRareAfter.filter(({ when }) => when(play)).flatMap(({ facts }) => facts));
  const noted: Play = { ...play };
  for (const [fact, value] of Object.entries(nothingUnusual(play.kind))) {
    if (noted[fact as Fact] !== undefined || left.has(fact as Fact)) continue;
    if (!contradicts(noted, { [fact]: value }, code)) Object.assign(noted, { [fact]: value });
  }
  return { ...noted, ...impliedFacts(noted, code) };
}
