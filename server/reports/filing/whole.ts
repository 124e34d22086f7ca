import type { OpportunityCount } from '../../duties/opportunity-counts.ts';
import { type Code, codeFacts } from '../../football/codes.ts';
import { sequenceBreaks } from '../../football/contradictions/index.ts';
import { positionsOf } from '../../football/crews.ts';
import type { Play } from '../../football/play.ts';
import { type CrewSize, crewSizes, type Position } from '../../football/positions.ts';
import { type LoggedPoints, type Points, pointsIn } from '../../football/whole/points.ts';
import { timeWithoutPlays } from '../../football/whole/time-without-plays.ts';
import { usualPlays } from '../../football/whole/usual-plays.ts';

/**
 * What tells that a report is not whole. It can be filed so: a warning never blocks. `playId` is where to look first;
 * of the score and the crew the place is the game itself.
 */
export interface Warning {
  readonly what: 'quarter' | 'time' | 'sequence' | 'score' | 'plays' | 'chances' | 'crew';
  readonly says: string;
  readonly fix: string;
  readonly playId?: string;
  readonly number?: number;
  readonly position?: Position;
}

/** Below this a figure for the official can hardly be had from the report. */
const fewChances = 10;

export type CountOfPosition = Pick<
  OpportunityCount,
  'position' | 'opportunities' | 'notCounted' | 'unwatched'
>;

export interface ReportToBeWhole {
  readonly code: Code;
  readonly plays: readonly { readonly id: string; readonly number: number; readonly play: Play }[];
  readonly crew: readonly Position[];
  /** How many usually work a game of the season; null when it is not known. */
  readonly crewSize: number | null;
  /** Null while nobody has entered it. */
  readonly finalScore: Points | null;
  /** Empty names where they are not known. */
  readonly teams: { readonly home: string; readonly visitor: string };
  readonly counts: readonly CountOfPosition[];
}

/**
 * Everything that tells that a report is not whole, the weightiest first: breaks of the sequence, of which a log with
 * holes has many, come last. The same on device and server.
 */
export function warningsOf(report: ReportToBeWhole): Warning[] {
  return [
    ...crewNotWhole(report),
    ...fewPlays(report),
    ...withoutPlays(report),
    ...score(report),
    ...positionsWithFewChances(report),
    ...breaks(report),
  ];
}

function placeOf({ plays }: ReportToBeWhole, at: number | undefined) {
  const play = at === undefined ? undefined : plays[at];
  return play === undefined ? {} : { playId: play.id, number: play.number };
}

function crewNotWhole({ crew, crewSize }: ReportToBeWhole): Warning[] {
  if (crew.length === 0 || crewSize === null || crew.length >= crewSize) return [];
  const full = crewSizes.includes(crewSize as CrewSize) ? positionsOf(crewSize as CrewSize) : [];
  const absent = full.filter((position) => !crew.includes(position));
  const who = absent.length === 0 ? '' : `; nobody is entered as ${absent.join(', ')}`;
  return [
    {
      what: 'crew',
      says: `${crew.length} of ${crewSize} officials are entered as working this game${who}.`,
      fix: 'Correct the working crew, unless they really were fewer.',
    },
  ];
}

function fewPlays({ plays, code }: ReportToBeWhole): Warning[] {
  const { from, to, few } = usualPlays[code];
  if (plays.length === 0 || plays.length >= few) return [];
  return [
    {
      what: 'plays',
      says: `${plays.length} ${plays.length === 1 ? 'play is' : 'plays are'} logged; a whole game has ${from} to ${to} plays and kicks (common practice, no source).`,
      fix: 'Bring or type the plays that are missing.',
    },
  ];
}

function withoutPlays(report: ReportToBeWhole): Warning[] {
  return timeWithoutPlays(
    report.plays.map(({ play }) => play),
    codeFacts[report.code],
  ).map(({ what, says, at }) => ({
    what,
    says,
    fix: 'Insert the plays that are missing, or correct quarter and clock.',
    ...placeOf(report, at),
  }));
}

function breaks({ plays, code }: ReportToBeWhole): Warning[] {
  const ids = new Map(plays.map(({ number, id }) => [number, id]));
  return sequenceBreaks(plays, code).map(({ number, says, fix }) => ({
    what: 'sequence',
    says: `Play ${number}: ${says}`,
    fix,
    playId: ids.get(number)!,
    number,
  }));
}

function score(report: ReportToBeWhole): Warning[] {
  const { finalScore, plays } = report;
  if (finalScore === null || plays.length === 0) return [];
  const logged = pointsIn(plays.map(({ play }) => play));
  const wrong = (['home', 'visitor'] as const).filter(
    (team) => finalScore[team] < logged.least[team] || finalScore[team] > logged.most[team],
  );
  if (wrong.length === 0) return [];
  const name = (team: 'home' | 'visitor') =>
    report.teams[team] || (team === 'home' ? 'the home team' : 'the visitors');
  const sums = wrong.map(
    (team) => `${logInWords(logged, team)} for ${name(team)}, the final score says ${finalScore[team]}`,
  );
  const unsaid =
    logged.unsaid === 0
      ? ''
      : ` ${logged.unsaid} ${logged.unsaid === 1 ? 'play does' : 'plays do'} not say whether anything was scored.`;
  // Where the facts leave it open, else where nothing is said of it, else at the last points.
  const firstUnsaid = plays.findIndex(({ play }) => play.score === undefined);
  const at = logged.open[0] ?? (firstUnsaid === -1 ? logged.scoring.at(-1) : firstUnsaid);
  return [
    {
      what: 'score',
      says: `The points of the log do not add up: ${sums.join('; ')}.${unsaid}`,
      fix: 'Correct the scores of the plays, or the final score of the game.',
      ...placeOf(report, at ?? plays.length - 1),
    },
  ];
}

const logInWords = ({ least, most }: LoggedPoints, team: 'home' | 'visitor') =>
  least[team] === most[team] ? String(least[team]) : `${least[team]} to ${most[team]}`;

function positionsWithFewChances({ crew, counts, plays }: ReportToBeWhole): Warning[] {
  if (plays.length === 0) return [];
  const chances = new Map<Position, number>();
  const unwatched = new Map<Position, number>();
  const add = (to: Map<Position, number>, position: Position, count: number) =>
    to.set(position, (to.get(position) ?? 0) + count);
  for (const count of counts) {
    add(chances, count.position, count.opportunities - count.notCounted);
    add(unwatched, count.position, count.unwatched);
  }
  return crew.flatMap((position) => {
    const counted = chances.get(position) ?? 0;
    // Who was not watched is not graded, and nothing is missing of it.
    if (counted >= fewChances || (counted === 0 && (unwatched.get(position) ?? 0) > 0)) return [];
    return [
      {
        what: 'chances' as const,
        says: `The ${position} has ${counted} ${counted === 1 ? 'opportunity' : 'opportunities'} that count${counted === 1 ? 's' : ''}, fewer than ${fewChances}.`,
        fix: 'Log more plays, or the facts that decide what was owed on them.',
        position,
      },
    ];
  });
}
