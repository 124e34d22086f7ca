import type { Fact, Play } from './play.ts';
import { and, atLeast, isOneOf, isTrue, not, or, type Truth } from './three-valued.ts';

/** Seconds on the play clock after an ordinary play, and after an administrative stop. Common practice, no source. */
export const playClockSeconds = { ordinary: 40, administrative: 25 } as const;

/** Was there at least one foul? Unknown when nobody logged it. */
function foulOnPlay(play: Play): Truth {
  return atLeast(play.fouls?.length, 1);
}

/** Every fact that `needsAdministrativePlayClock` may read. */
export const playClockFacts = [
  'kind',
  'score',
  'turnover',
  'timeout',
  'measured',
  'injury',
  'fouls',
  'helmetOff',
  'helmetOffByFoul',
] as const satisfies readonly Fact[];

/**
 * Does the referee wind a 25-second play clock after this play (penalty, score, change of possession, kick,
 * time-out, injury, helmet off), or does the 40-second one start by itself? Common practice, no source.
 */
export function needsAdministrativePlayClock(play: Play): Truth {
  return or(
    isOneOf(play.kind, 'free kick', 'punt', 'place kick', 'try', 'no snap'),
    isOneOf(play.score, 'touchdown', 'field goal', 'safety'),
    isOneOf(play.turnover, 'interception', 'fumble', 'downs'),
    isOneOf(play.timeout, 'team', 'official'),
    isTrue(play.measured),
    isTrue(play.injury),
    foulOnPlay(play),
    and(isTrue(play.helmetOff), not(isTrue(play.helmetOffByFoul))),
  );
}

/** 40, 25, or unknown. */
export function playClockAfter(play: Play): 40 | 25 | 'unknown' {
  const administrative = needsAdministrativePlayClock(play);
  if (administrative === 'unknown') return 'unknown';
  return administrative ? playClockSeconds.administrative : playClockSeconds.ordinary;
}
