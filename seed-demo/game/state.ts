import type { Play } from '../../server/football/play.ts';
import { type Lane, mirrorLane } from '../../server/football/sides.ts';
import type { DemoTeam } from '../conference.ts';
import type { Draws } from '../draws.ts';

/** The home team, or the visitors. */
export type TeamAt = 0 | 1;
export const otherTeam = (team: TeamAt): TeamAt => (team === 0 ? 1 : 0);

export interface DemoPlay {
  number: number;
  play: Play;
  /** Seconds into the film, when the game was filmed. */
  filmSeconds: number | null;
  note: string;
}

/** The college code's; the demo's conference plays by it. */
const quarterSeconds = 900;
const timeoutsInAHalf = 3;

/** A whole number within the bounds; adding 0 makes a rounded -0 a plain 0. */
export const clamp = (value: number, low: number, high: number) =>
  Math.max(low, Math.min(high, Math.round(value))) + 0;

/** Where a series stands. The line to gain stays where it is while the down is repeated, so it is kept, not the distance. */
export interface Series {
  /** 1 to 99 from the offense's own goal line. */
  spot: number;
  down: number;
  /** Where the line to gain is; 100 with goal to go. */
  line: number;
}

export const firstAndTen = (spot: number): Series => ({ spot, down: 1, line: Math.min(100, spot + 10) });

/** What comes after a play, before anything is counted. Spots are in the frame of the team that will have the ball. */
export type Next =
  | { what: 'down'; series: Series }
  | { what: 'change'; spot: number }
  | { what: 'touchdown'; by: TeamAt }
  | { what: 'safety'; against: TeamAt }
  | { what: 'field goal' };

/** Facts that a hurried observer leaves out, with those that say nothing without them. */
const dispensable: readonly (readonly (keyof Play)[])[] = [
  ['catchDepth'],
  ['throwDepth'],
  ['quickPass'],
  ['pressure'],
  ['endedBy', 'clockStoppedBy'],
  ['ruledBy'],
  ['motion', 'motionFrom'],
  ['shift'],
  ['strongSide'],
  ['pile'],
  ['hurryUp'],
  ['offenseSubstituted'],
  ['drivenBack'],
  ['yardsFromSideline'],
];

/** One game while it is played: score, clock, who has the ball and where across the field, and the log so far. */
export class GameState {
  readonly teams: readonly [DemoTeam, DemoTeam];
  readonly draws: Draws;
  readonly #filmed: boolean;
  /** Share of the dispensable facts that the log has. */
  readonly #thoroughness: number;
  plays: DemoPlay[] = [];
  score: [number, number] = [0, 0];
  quarter = 1;
  clock = quarterSeconds;
  ball: TeamAt = 0;
  /** Where across the field the ball lies: on a hash mark or between them. */
  hash: Lane = 'middle';
  timeouts: [number, number] = [timeoutsInAHalf, timeoutsInAHalf];
  /** What the game clock does before the next snap. */
  clockBefore: 'running' | 'ready' | 'snap' = 'snap';
  /** A period that ran out in a down whose penalty is enforced, or whose fouls offset, gets one more down. */
  untimedDown = false;
  film: number;

  constructor(home: DemoTeam, visitor: DemoTeam, filmed: boolean, draws: Draws) {
    this.teams = [home, visitor];
    this.#filmed = filmed;
    this.draws = draws;
    this.#thoroughness = draws.pick([1, 0.99, 0.97, 0.93]);
    this.film = draws.integer(20, 240);
  }

  /** Has the period run out? Overtime has no clock. */
  get periodIsOver(): boolean {
    return this.quarter <= 4 && this.clock <= 0 && !this.untimedDown;
  }

  /** How far the team with the ball is ahead; negative when it is behind. */
  get lead(): number {
    return this.score[this.ball] - this.score[otherTeam(this.ball)];
  }

  get lateInHalf(): boolean {
    return (this.quarter === 2 || this.quarter === 4) && this.clock <= 120;
  }

  place(team: TeamAt): string {
    return this.teams[team].place;
  }

  beginHalf(quarter: 1 | 3): void {
    this.quarter = quarter;
    this.clock = quarterSeconds;
    this.timeouts = [timeoutsInAHalf, timeoutsInAHalf];
    this.clockBefore = 'snap';
  }

  /** Second and fourth quarter: the teams change ends, so what lay at one wing's hash lies at the other's. */
  turnQuarter(): void {
    this.quarter += 1;
    this.clock = quarterSeconds;
    this.clockBefore = 'snap';
    this.hash = mirrorLane(this.hash);
  }

  /** The facts that any play starts with. */
  begin(kind: Play['kind'], spot: number, series?: Series): Play {
    const play: Play = { kind, spot, quarter: this.quarter, offense: this.ball === 0 ? 'home' : 'visitor' };
    if (this.quarter <= 4) play.clockSeconds = Math.max(0, this.clock);
    if (series !== undefined) {
      play.down = series.down;
      play.distance = clamp(series.line - series.spot, 1, 99);
    }
    if (kind !== 'free kick') play.snapSide = this.hash;
    return play;
  }

  /** Writes the play into the log, as thoroughly as this game's observer does. */
  write(play: Play, note: string): void {
    const logged: Play = { ...play };
    for (const facts of dispensable) {
      if (this.draws.chance(this.#thoroughness)) continue;
      for (const fact of facts) delete logged[fact];
    }
    this.plays.push({
      number: this.plays.length + 1,
      play: logged,
      filmSeconds: this.#filmed ? this.film : null,
      note,
    });
    this.film += this.draws.integer(28, 75);
  }
}
