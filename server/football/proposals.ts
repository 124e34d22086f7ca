import { type Code, codeFacts } from './codes.ts';
import { nextPlay } from './next-play.ts';
import type { Play } from './play.ts';
import { pointsIn } from './whole/points.ts';

/** A way to go on after the last play. */
export interface Proposal {
  /** For a button: `The quarter goes on`, `Second half: kickoff by the visitors`. */
  readonly says: string;
  readonly what:
    | 'next play'
    | 'first kickoff'
    | 'next quarter'
    | 'second half'
    | 'overtime'
    | 'next overtime period';
  /** What the play starts from. */
  readonly play: Play;
}

/** With this much left, or when nobody knows, a quarter may end before the next snap. */
const nearlyOver = 120;

/**
 * How the game may go on after the plays so far: first the next play, since an estimated clock tells no end, and near
 * the end of a quarter the start of the next, of the second half with the kickoff by the team that did not kick off
 * the game, or of overtime when the score may be level. Of the first play nobody knows yet who kicks: both
 * are offered.
 */
export function proposals(
  plays: readonly Play[],
  code: Code,
  teams: Readonly<Record<'home' | 'visitor', string>> = { home: 'the home team', visitor: 'the visitors' },
): Proposal[] {
  const last = plays.at(-1);
  const next = nextPlay(last, code);
  const usual: Proposal = { says: last ? 'The quarter goes on' : 'Next play', what: 'next play', play: next };
  if (last === undefined) {
    const kickoff = (offense: 'home' | 'visitor'): Proposal => ({
      says: `Kickoff by ${teams[offense]}`,
      what: 'first kickoff',
      play: { ...next, offense },
    });
    return [usual, kickoff('home'), kickoff('visitor')];
  }
  if (last.quarter === undefined) return [usual];
  const clock = last.clockSeconds ?? last.clockAbout;
  if (last.quarter <= 4 && clock !== undefined && clock > nearlyOver) return [usual];
  const begin = begins(plays, last, next, code, teams);
  return begin === undefined ? [usual] : [usual, begin];
}

function begins(
  plays: readonly Play[],
  last: Play,
  next: Play,
  code: Code,
  teams: Readonly<Record<'home' | 'visitor', string>>,
): Proposal | undefined {
  const { quarterSeconds, kickoffFrom, overtimeFrom } = codeFacts[code];
  const quarter = (last.quarter ?? 1) + 1;
  if (quarter === 2 || quarter === 4) {
    const { clockAbout: _, ...carried } = next;
    return {
      says: quarter === 2 ? '2nd quarter' : '4th quarter',
      what: 'next quarter',
      play: { ...carried, quarter, clockSeconds: quarterSeconds },
    };
  }
  if (quarter === 3) {
    const first = plays.find(({ kind, quarter: at }) => kind === 'free kick' && (at ?? 1) === 1)?.offense;
    const by = first === undefined ? undefined : first === 'home' ? 'visitor' : 'home';
    return {
      says: `Second half: kickoff${by === undefined ? '' : ` by ${teams[by]}`}`,
      what: 'second half',
      play: {
        kind: 'free kick',
        spot: kickoffFrom,
        quarter,
        clockSeconds: quarterSeconds,
        ...(by !== undefined && { offense: by }),
      },
    };
  }
  // As far as the log tells, the score may be level.
  const { least, most } = pointsIn(plays);
  if (least.home > most.visitor || least.visitor > most.home) return undefined;
  const start: Play = {
    kind: 'run',
    spot: 100 - overtimeFrom,
    quarter,
    down: 1,
    distance: Math.min(10, overtimeFrom),
  };
  if (quarter === 5) return { says: 'Overtime', what: 'overtime', play: start };
  // Who had the ball last starts the next period. Both have had it when the ball changed in this one.
  const inThisPeriod = plays.filter(({ quarter: at }) => at === last.quarter);
  const haveHadIt = new Set(inThisPeriod.map(({ offense }) => offense));
  if (haveHadIt.size < 2 || next.offense === last.offense) return undefined;
  return {
    says: 'Next overtime period',
    what: 'next overtime period',
    play: { ...start, ...(last.offense !== undefined && { offense: last.offense }) },
  };
}
