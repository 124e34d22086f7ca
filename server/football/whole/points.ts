import type { Play } from '../play.ts';

type Team = NonNullable<Play['offense']>;

export interface Points {
  readonly home: number;
  readonly visitor: number;
}

/** What a log says of the points of a game: the fewest and the most that its plays can have brought each team. */
export interface LoggedPoints {
  readonly least: Points;
  readonly most: Points;
  /** Plays on which something was scored, by their place in the log. */
  readonly scoring: readonly number[];
  /** Scoring plays of which the facts leave open who scored, or how much. */
  readonly open: readonly number[];
  /** How many plays do not say whether anything was scored. */
  readonly unsaid: number;
}

const other = (team: Team): Team => (team === 'home' ? 'visitor' : 'home');
const isKick = ({ kind }: Play) => kind === 'free kick' || kind === 'punt' || kind === 'place kick';

/**
 * Points as both codes count them (Rule 8 of either book, from memory: check the current edition): touchdown 6, field
 * goal 3, safety 2 for the other team, try 1 by kick and 2 by run or pass.
 */
export function pointsIn(plays: readonly Play[]): LoggedPoints {
  const least = { home: 0, visitor: 0 };
  const most = { home: 0, visitor: 0 };
  const scoring: number[] = [];
  const open: number[] = [];
  let unsaid = 0;
  for (const [at, play] of plays.entries()) {
    if (play.score === undefined) unsaid += 1;
    const scored = scoreOf(play);
    if (scored === undefined) continue;
    scoring.push(at);
    const teams = teamsThatMayHaveScored(play);
    if (teams.length > 1 || scored[0] !== scored[1]) open.push(at);
    for (const team of teams) {
      if (teams.length === 1) least[team] += scored[0];
      most[team] += scored[1];
    }
  }
  return { least, most, scoring, open, unsaid };
}

/** Fewest and most points of a play; undefined when none were scored. */
function scoreOf({ kind, score, tryBy }: Play): readonly [number, number] | undefined {
  switch (score) {
    case 'touchdown':
      return [6, 6];
    case 'field goal':
      return [3, 3];
    case 'safety':
      return kind === 'try' ? [1, 1] : [2, 2];
    case 'try good':
      return tryBy === undefined ? [1, 2] : tryBy === 'kick' ? [1, 1] : [2, 2];
    default:
      return undefined;
  }
}

function teamsThatMayHaveScored(play: Play): readonly Team[] {
  const { offense, score, endSpot, turnover } = play;
  if (offense === undefined) return ['home', 'visitor'];
  if (score === 'safety') return [endSpot !== undefined && endSpot >= 100 ? offense : other(offense)];
  if (score !== 'touchdown') return [offense];
  if (endSpot !== undefined && endSpot <= 0) return [other(offense)];
  if (endSpot !== undefined && endSpot >= 100) return [offense];
  if (isKick(play) || (turnover !== undefined && turnover !== 'none')) return ['home', 'visitor'];
  return turnover === 'none' ? [offense] : ['home', 'visitor'];
}
