import type { Play } from './play.ts';

/**
 * What an observer confirms in one touch by saying "nothing unusual here": the rare facts, known not to have
 * happened. An entry form or an import may fill these in where the observer said so; they are never assumed.
 */
export const nothingUnusual = {
  hurryUp: false,
  offenseSubstituted: false,
  motion: 'none',
  catchInQuestion: false,
  backwardPass: false,
  drivenBack: false,
  looseBall: 'none',
  fumbleOrDown: false,
  pile: false,
  onside: false,
  firstTouching: false,
  measured: false,
  score: 'none',
  turnover: 'none',
  fouls: [],
  helmetOff: false,
  helmetOffByFoul: false,
  injury: false,
  confrontation: false,
  coachDispute: false,
  timeout: 'none',
} as const satisfies Partial<Omit<Play, 'fouls'>> & { fouls: readonly [] };
