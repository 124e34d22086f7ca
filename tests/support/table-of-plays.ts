import type { Code } from '../../server/football/codes.ts';
import type { Play } from '../../server/football/play.ts';
import type { CrewSize, Position } from '../../server/football/positions.ts';
import type { Practices } from '../../server/football/practices.ts';

/** These and only these officials owe the duty; `[]`: nobody does; `undecided`: the log does not tell. */
type Owes = readonly Position[] | 'undecided';

/** Crew size, code, duty, who owes it and, where it differs from the usual, how the conference works it. */
export type Row = readonly [CrewSize, Code, string, Owes, Partial<Practices>?];

/** One play in a crew chief's words, the facts that say the same, and what it asks of whom. */
export interface PlayOfTheTable {
  readonly sentence: string;
  readonly play: Play;
  readonly rows: readonly Row[];
}

/**
 * An ordinary first down in the first quarter on which nothing rare happened and the clock ran on: each of these is
 * known, so that a play of the table only says what made it that play. `undefined` takes a fact back to unknown.
 */
export const ordinary = {
  quarter: 1,
  clockSeconds: 600,
  down: 1,
  distance: 10,
  offense: 'home',
  snapSide: 'middle',
  strongSide: 'middle',
  snapFor: 'play',
  shift: false,
  hurryUp: false,
  offenseSubstituted: false,
  motion: 'none',
  carrier: 'other',
  pressure: false,
  quickPass: false,
  catchInQuestion: false,
  backwardPass: false,
  drivenBack: false,
  looseBall: 'none',
  fumbleOrDown: false,
  pile: false,
  onside: false,
  firstTouching: false,
  fairCatchSignal: false,
  momentum: false,
  outOfBounds: false,
  rulingsDiffered: false,
  lineToGainInQuestion: false,
  measured: false,
  score: 'none',
  turnover: 'none',
  fouls: [],
  helmetOff: false,
  helmetOffByFoul: false,
  injury: false,
  confrontation: false,
  coachDispute: false,
  ejection: false,
  timeout: 'none',
  clockAfter: 'running',
  clockStoppedFor: 'none',
  tenSecondRunoff: false,
  inadvertentWhistle: false,
  replay: 'none',
} as const satisfies Partial<Omit<Play, 'fouls'>> & { fouls: readonly [] };

type Facts = { readonly [F in keyof Play]?: Play[F] | undefined } & Pick<Play, 'kind' | 'spot'>;

export function play(sentence: string, facts: Facts, rows: readonly Row[]): PlayOfTheTable {
  const known = Object.entries({ ...ordinary, ...facts }).filter(([, value]) => value !== undefined);
  return { sentence, play: Object.fromEntries(known) as Play, rows };
}

/** Where the play went and where it was dead, named by the wing who stands on that side. */
export const toTheLineJudge = { playSide: 'line judge side', endSide: 'line judge side' } as const;
export const toTheHeadLinesman = { playSide: 'head linesman side', endSide: 'head linesman side' } as const;
export const upTheMiddle = { playSide: 'middle', endSide: 'middle' } as const;

export const outOfBounds = {
  outOfBounds: true,
  yardsFromSideline: 0,
  clockAfter: 'stopped',
  clockStoppedFor: 'out of bounds',
} as const;
export const firstDownStops = { clockAfter: 'stopped', clockStoppedFor: 'first down' } as const;
export const scored = { score: 'touchdown', clockAfter: 'stopped', clockStoppedFor: 'score' } as const;
export const incomplete = {
  passResult: 'incomplete',
  clockAfter: 'stopped',
  clockStoppedFor: 'incomplete pass',
} as const;
export const possessionChanged = { clockAfter: 'stopped', clockStoppedFor: 'change of possession' } as const;
