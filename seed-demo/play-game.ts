import type { Play } from '../server/football/play.ts';
import type { Position } from '../server/football/positions.ts';
import type { Lane } from '../server/football/sides.ts';
import type { DemoTeam } from './conference.ts';
import type { Draws } from './draws.ts';
import { type DrawnFoul, deadBallFouls, drawFoul, liveBallFouls, passFouls } from './fouls.ts';

export interface DemoPlay {
  number: number;
  play: Play;
  /** Seconds into the film, when the game was filmed. */
  filmSeconds: number | null;
  note: string;
}

/** How a possession ended. Spots are from the own goal line of the team that had the ball. */
type Ending =
  | { how: 'score' }
  | { how: 'safety' }
  | { how: 'turnover'; spot: number }
  | { how: 'period over'; spot: number; down: number; distance: number };

const quarterSeconds = 900;
/** A whole number within the bounds; adding 0 makes a rounded -0 a plain 0. */
const clamp = (value: number, low: number, high: number) =>
  Math.max(low, Math.min(high, Math.round(value))) + 0;

/** Facts that a hurried observer leaves out. */
const dispensable = [
  'catchDepth',
  'throwDepth',
  'quickPass',
  'pressure',
  'endedBy',
  'motion',
  'playSide',
  'pile',
  'hurryUp',
  'offenseSubstituted',
  'drivenBack',
] as const satisfies readonly (keyof Play)[];

/**
 * Plays one game: kickoffs, drives with downs and distance, kicks, scores, fouls, a clock that runs out. About 165
 * plays. It is a game that looks right to an official, not a model of football.
 */
export class GamePlayer {
  readonly #teams: readonly [DemoTeam, DemoTeam];
  readonly #draws: Draws;
  readonly #filmed: boolean;
  /** Share of the dispensable facts that the log has. */
  readonly #thoroughness: number;
  readonly #plays: DemoPlay[] = [];
  readonly #score: [number, number] = [0, 0];
  #quarter = 1;
  #clock = quarterSeconds;
  #film: number;
  #withBall: 0 | 1 = 0;

  constructor(home: DemoTeam, visitor: DemoTeam, filmed: boolean, draws: Draws) {
    this.#teams = [home, visitor];
    this.#filmed = filmed;
    this.#draws = draws;
    this.#thoroughness = draws.pick([1, 0.98, 0.95, 0.85]);
    this.#film = draws.integer(20, 240);
  }

  get score(): readonly [number, number] {
    return this.#score;
  }

  play(): DemoPlay[] {
    const firstReceiver: 0 | 1 = this.#draws.chance(0.5) ? 1 : 0;
    this.#half(firstReceiver);
    this.#quarter = 3;
    this.#clock = quarterSeconds;
    this.#half(firstReceiver === 0 ? 1 : 0);
    this.#overtime();
    return this.#plays;
  }

  /** Two quarters. The clock can't end a half with a try outstanding, so drives finish their own tries. */
  #half(receiver: 0 | 1): void {
    const lastQuarter = this.#quarter + 1;
    let spot = this.#kickoff(receiver === 0 ? 1 : 0, 35);
    let down = 1;
    let distance = 10;
    for (;;) {
      const ending = this.#drive(spot, down, distance, true);
      if (ending.how === 'period over') {
        if (this.#quarter === lastQuarter) return;
        this.#quarter += 1;
        this.#clock = quarterSeconds;
        ({ spot, down, distance } = ending);
        continue;
      }
      if (this.#clock <= 0 && this.#quarter === lastQuarter) return;
      if (this.#clock <= 0) {
        this.#quarter += 1;
        this.#clock = quarterSeconds;
      }
      down = 1;
      if (ending.how === 'score') spot = this.#kickoff(this.#withBall, 35);
      else if (ending.how === 'safety') spot = this.#kickoff(this.#withBall, 20);
      else {
        this.#changeSides();
        spot = clamp(100 - ending.spot, 1, 99);
      }
      distance = Math.min(10, 100 - spot);
    }
  }

  /** One possession each from the opponent's 25, until the score differs. No clock, no kicks but for goal. */
  #overtime(): void {
    while (this.#score[0] === this.#score[1]) {
      this.#quarter += 1;
      this.#clock = 0;
      for (const team of [1, 0] as const) {
        this.#withBall = team;
        this.#drive(75, 1, 10, false);
      }
      // After six periods a coin would be thrown in a story; here the home team simply kicks one more.
      if (this.#quarter > 10) {
        this.#withBall = 0;
        this.#fieldGoal(75, 1, 10, true);
      }
    }
  }

  #drive(startSpot: number, startDown: number, startDistance: number, clockRuns: boolean): Ending {
    let spot = startSpot;
    let down = startDown;
    let distance = Math.max(1, startDistance);
    for (;;) {
      if (clockRuns && this.#clock <= 0) return { how: 'period over', spot, down, distance };
      const behind = this.#score[this.#withBall] < this.#score[this.#withBall === 0 ? 1 : 0];
      const lateAndBehind = this.#quarter === 4 && this.#clock < 240 && behind;
      if (down === 4 && !(lateAndBehind && spot < 70)) {
        const goes = distance <= 2 && spot >= 50 && this.#draws.chance(0.4);
        if (!goes && spot >= 63) {
          const good = this.#fieldGoal(spot, down, distance);
          return good ? { how: 'score' } : { how: 'turnover', spot: Math.min(spot, 80) };
        }
        if (!goes && clockRuns) return this.#punt(spot, distance);
      }
      if (this.#draws.chance(0.025)) {
        const { yards, foul } = this.#noSnap(spot, down, distance);
        const gain =
          foul.by === 'offense'
            ? -Math.min(yards, Math.floor(spot / 2))
            : Math.min(yards, Math.floor((100 - spot) / 2));
        spot += gain;
        distance -= gain;
        if (distance <= 0) {
          down = 1;
          distance = Math.min(10, 100 - spot);
        }
        continue;
      }
      const outcome = this.#scrimmage(spot, down, distance, lateAndBehind);
      if (outcome.ending !== undefined) return outcome.ending;
      const gained = outcome.spot - spot;
      spot = outcome.spot;
      if (outcome.firstDown || gained >= distance) {
        down = 1;
        distance = Math.min(10, 100 - spot);
      } else {
        distance = clamp(distance - gained, 1, 99);
        if (!outcome.repeatDown) down += 1;
        if (down > 4) return { how: 'turnover', spot };
      }
    }
  }

  /** A run or pass from scrimmage with everything that may come of it. */
  #scrimmage(
    spot: number,
    down: number,
    distance: number,
    hurried: boolean,
  ): { spot: number; firstDown: boolean; repeatDown: boolean; ending?: Ending } {
    const draws = this.#draws;
    const strength = (this.#teams[this.#withBall] as DemoTeam).strength;
    const passes = draws.chance(distance >= 7 || hurried ? 0.64 : distance <= 2 ? 0.28 : 0.47);
    const side: Lane = draws.weighted({
      'head linesman side': 0.36,
      middle: 0.28,
      'line judge side': 0.36,
    });
    const play: Play = {
      ...this.#start(passes ? 'pass' : 'run', spot, down, distance),
      playSide: side,
      hurryUp: hurried ? draws.chance(0.8) : draws.chance(0.12),
      offenseSubstituted: draws.chance(0.3),
      motion: draws.weighted({
        none: 0.6,
        'head linesman side': 0.15,
        middle: 0.08,
        'line judge side': 0.17,
      }),
      looseBall: 'none',
      turnover: 'none',
      score: 'none',
      fouls: [],
      helmetOff: draws.chance(0.006),
      injury: draws.chance(0.012),
      confrontation: draws.chance(0.008),
      coachDispute: draws.chance(0.012),
      timeout: draws.chance(0.03) ? 'team' : 'none',
    };
    if (play.helmetOff) play.helmetOffByFoul = draws.chance(0.25);

    let gain: number;
    let what: string;
    if (passes) ({ gain, what } = this.#throw(play, spot, strength));
    else ({ gain, what } = this.#carry(play, strength));
    if (spot + gain > 100) gain = 100 - spot;
    if (spot + gain < 0) gain = -spot;

    const intercepted = play.passResult === 'intercepted';
    const incomplete = play.passResult === 'incomplete';
    let endSpot = spot + (incomplete ? 0 : gain);
    const advanced = !incomplete && !intercepted;
    if (advanced && endSpot >= 100) play.score = 'touchdown';
    if (advanced && endSpot <= 0) play.score = 'safety';

    if (advanced && play.score === 'none' && draws.chance(0.015)) {
      play.looseBall = 'fumble';
      play.pile = draws.chance(0.8);
      if (draws.chance(0.5)) play.turnover = 'fumble';
    }
    if (play.looseBall === 'none' && advanced && draws.chance(0.012)) play.fumbleOrDown = true;
    play.fumbleOrDown ??= play.looseBall === 'fumble' && draws.chance(0.5);
    play.pile ??= draws.chance(0.04);

    if (intercepted) {
      play.turnover = 'interception';
      const runBack = draws.chance(0.6) ? draws.integer(0, 25) : 0;
      endSpot = clamp(endSpot - runBack, 1, 99);
      if (draws.chance(0.04)) {
        endSpot = 0;
        play.score = 'touchdown';
      }
    }
    play.endSpot = clamp(endSpot, 0, 100);
    play.endSide = draws.chance(0.75)
      ? side
      : draws.pick(['head linesman side', 'middle', 'line judge side']);
    play.outOfBounds =
      play.score === 'none' &&
      !incomplete &&
      play.endSide !== 'middle' &&
      play.looseBall === 'none' &&
      draws.chance(0.22);
    play.drivenBack = advanced && !play.outOfBounds && draws.chance(0.06);
    if (advanced && play.score === 'none') {
      const short = Math.abs(gain - distance) <= 1;
      play.lineToGainInQuestion = short && draws.chance(0.6);
      play.measured = play.lineToGainInQuestion && draws.chance(0.15);
    } else {
      play.lineToGainInQuestion = false;
    }
    if (!incomplete) play.endedBy = this.#whoEnds(play, gain);

    const ofTeam = `${(this.#teams[this.#withBall] as DemoTeam).place} ${what}`;
    const thrown = passes && play.passResult !== 'sack' && play.passResult !== 'scramble';
    const drawn = draws.chance(0.075)
      ? drawFoul(liveBallFouls, (name) => thrown || !passFouls.includes(name), draws)
      : undefined;
    const foul = drawn === undefined ? undefined : this.#settle(drawn, play, gain, distance);
    if (foul !== undefined) play.fouls = [foul];
    const annulled = foul?.outcome === 'accepted' || foul?.outcome === 'offsetting';
    const failsOnDowns =
      !annulled &&
      down === 4 &&
      advanced &&
      play.score === 'none' &&
      play.turnover === 'none' &&
      gain < distance;
    if ((down === 4 && incomplete && !annulled) || failsOnDowns) play.turnover = 'downs';

    const stopped =
      incomplete ||
      play.outOfBounds ||
      play.score !== 'none' ||
      play.turnover !== 'none' ||
      play.timeout === 'team' ||
      foul !== undefined ||
      play.injury === true ||
      play.helmetOff === true;
    if (play.helmetOff || play.injury) play.timeout = 'official';
    play.clockAfter = stopped ? 'stopped' : 'running';
    this.#log(
      play,
      ofTeam,
      stopped ? draws.integer(5, 17) : hurried ? draws.integer(16, 26) : draws.integer(32, 46),
    );

    if (foul !== undefined && drawn !== undefined && annulled) {
      if (foul.outcome === 'offsetting') return { spot, firstDown: false, repeatDown: true };
      const yards =
        foul.by === 'offense'
          ? -Math.min(drawn.yards, Math.floor(spot / 2))
          : Math.min(drawn.yards, Math.floor((100 - spot) / 2));
      return { spot: spot + yards, firstDown: drawn.automaticFirstDown, repeatDown: true };
    }
    if (play.score === 'touchdown') {
      if (intercepted) this.#changeSides();
      this.#score[this.#withBall] += 6;
      this.#try();
      return { spot, firstDown: false, repeatDown: false, ending: { how: 'score' } };
    }
    if (play.score === 'safety') {
      this.#score[this.#withBall === 0 ? 1 : 0] += 2;
      return { spot, firstDown: false, repeatDown: false, ending: { how: 'safety' } };
    }
    if (play.turnover !== 'none') {
      const at = play.turnover === 'downs' ? spot + (incomplete ? 0 : gain) : play.endSpot;
      return {
        spot,
        firstDown: false,
        repeatDown: false,
        ending: { how: 'turnover', spot: clamp(at, 1, 99) },
      };
    }
    return { spot: clamp(spot + (incomplete ? 0 : gain), 1, 99), firstDown: false, repeatDown: false };
  }

  #carry(play: Play, strength: number): { gain: number; what: string } {
    const draws = this.#draws;
    play.carrier = draws.chance(0.15) ? 'quarterback' : 'other';
    let gain = draws.normal(3.3 + strength * 0.6, 3.2);
    if (draws.chance(0.06)) gain += draws.integer(5, 40);
    gain = clamp(gain, -7, 99);
    play.backwardPass = draws.chance(0.04);
    const where = play.playSide === 'middle' ? 'up the middle' : `to the ${play.playSide}`;
    return { gain, what: `run ${where}, ${yardsText(gain)}` };
  }

  #throw(play: Play, spot: number, strength: number): { gain: number; what: string } {
    const draws = this.#draws;
    const result = draws.weighted({
      complete: 0.54 + strength * 0.05,
      incomplete: 0.34,
      intercepted: 0.024,
      sack: 0.06,
      scramble: 0.04,
    });
    play.passResult = result;
    play.pressure = result === 'sack' || result === 'scramble' || draws.chance(0.2);
    play.backwardPass = draws.chance(0.012);
    if (result === 'sack') {
      play.carrier = 'quarterback';
      const gain = -clamp(draws.normal(6, 2.5), 1, Math.max(1, Math.min(spot, 15)));
      return { gain, what: `passer sacked, ${yardsText(gain)}` };
    }
    if (result === 'scramble') {
      play.carrier = 'quarterback';
      const gain = clamp(draws.normal(6, 5), -2, 40);
      return { gain, what: `passer scrambles, ${yardsText(gain)}` };
    }
    play.quickPass = draws.chance(0.27);
    play.throwDepth = 0 - clamp(play.quickPass ? draws.normal(3, 1.5) : draws.normal(7, 2), 0, 15);
    if (draws.chance(0.01)) play.throwDepth = draws.integer(0, 1);
    const deepest = Math.min(100 - spot + 8, 60);
    const depth = play.quickPass
      ? draws.normal(2, 3.5)
      : draws.chance(0.18)
        ? draws.normal(27, 8)
        : draws.normal(9, 5);
    play.catchDepth = clamp(depth, -7, deepest);
    play.catchInQuestion = draws.chance(result === 'complete' ? 0.05 : 0.1);
    if (result === 'incomplete') return { gain: 0, what: `pass incomplete ${depthText(play.catchDepth)}` };
    if (result === 'intercepted')
      return { gain: play.catchDepth, what: `pass intercepted ${depthText(play.catchDepth)}` };
    const after = draws.chance(0.65) ? draws.integer(0, 3) : draws.integer(2, 14);
    const gain = clamp(play.catchDepth + after, -9, 99);
    return { gain, what: `pass complete ${depthText(play.catchDepth)}, ${yardsText(gain)}` };
  }

  /** Whether the other side takes the penalty: it does when that is better for it. */
  #settle(drawn: DrawnFoul, play: Play, gain: number, distance: number) {
    const { foul, yards } = drawn;
    const scored = play.score === 'touchdown';
    const lost = play.turnover !== 'none' || play.score === 'safety';
    const succeeded = scored || (!lost && gain >= distance);
    let declined: boolean;
    if (foul.by === 'offense') declined = lost || (!succeeded && gain <= -yards);
    else declined = scored || (!lost && gain > yards);
    // A score is kept out of reach of accepted fouls on the offense: the note would have to say it was called back.
    if (foul.by === 'offense' && scored) return undefined;
    if (this.#draws.chance(0.04) && !scored && !lost) return { ...foul, outcome: 'offsetting' as const };
    return { ...foul, outcome: declined ? ('declined' as const) : ('accepted' as const) };
  }

  #whoEnds(play: Play, gain: number): Position {
    const onHeadLinesmanSide = play.endSide === 'head linesman side';
    if (gain > 20 || (play.endSpot ?? 50) >= 100) {
      return play.endSide === 'middle' ? 'back judge' : onHeadLinesmanSide ? 'side judge' : 'field judge';
    }
    if (play.endSide === 'middle') {
      if (gain < 0) return 'referee';
      return this.#draws.weighted({
        umpire: 0.3,
        'center judge': 0.1,
        'head linesman': 0.3,
        'line judge': 0.3,
      });
    }
    return onHeadLinesmanSide ? 'head linesman' : 'line judge';
  }

  #noSnap(spot: number, down: number, distance: number): DrawnFoul {
    const drawn = drawFoul(deadBallFouls, () => true, this.#draws);
    const play: Play = {
      ...this.#start('no snap', spot, down, distance),
      fouls: [drawn.foul],
      timeout: 'none',
      score: 'none',
      turnover: 'none',
      clockAfter: 'stopped',
    };
    const who = drawn.foul.by === 'offense' ? this.#withBall : this.#withBall === 0 ? 1 : 0;
    this.#log(play, `${drawn.foul.foul}, ${(this.#teams[who] as DemoTeam).place}`, 0);
    return drawn;
  }

  #fieldGoal(spot: number, down: number, distance: number, certain = false): boolean {
    const draws = this.#draws;
    const length = 100 - spot + 17;
    const good = certain || draws.chance(clamp(108 - length * 1.05, 20, 97) / 100);
    const blocked = !good && draws.chance(0.12);
    const play: Play = {
      ...this.#start('place kick', spot, down, distance),
      kickResult: good ? 'good' : blocked ? 'blocked' : 'no good',
      score: good ? 'field goal' : 'none',
      looseBall: blocked ? 'blocked kick' : 'none',
      turnover: good ? 'none' : 'downs',
      fouls: [],
      timeout: draws.chance(0.04) ? 'team' : 'none',
      clockAfter: 'stopped',
    };
    if (good) this.#score[this.#withBall] += 3;
    const team = (this.#teams[this.#withBall] as DemoTeam).place;
    this.#log(play, `${team} field goal try from ${length} yards, ${play.kickResult}`, draws.integer(4, 6));
    return good;
  }

  #try(): void {
    const draws = this.#draws;
    const tryBy = draws.weighted({ kick: 0.91, run: 0.03, pass: 0.06 });
    const good = draws.chance(tryBy === 'kick' ? 0.965 : 0.45);
    const play: Play = {
      ...this.#start('try', 97),
      tryBy,
      score: good ? 'try good' : 'none',
      fouls: [],
      looseBall: 'none',
      confrontation: draws.chance(0.02),
      timeout: 'none',
      clockAfter: 'stopped',
    };
    if (tryBy === 'kick') play.kickResult = good ? 'good' : 'no good';
    else {
      play.endSpot = good ? 100 : draws.integer(96, 99);
      play.playSide = draws.pick(['head linesman side', 'middle', 'line judge side']);
      play.endSide = play.playSide;
    }
    if (good) this.#score[this.#withBall] += tryBy === 'kick' ? 1 : 2;
    const team = (this.#teams[this.#withBall] as DemoTeam).place;
    this.#log(play, `${team} try by ${tryBy}, ${good ? 'good' : 'no good'}`, 0);
  }

  #punt(spot: number, distance: number): Ending {
    const draws = this.#draws;
    const side: Lane = draws.pick(['head linesman side', 'middle', 'line judge side']);
    const play: Play = {
      ...this.#start('punt', spot, 4, distance),
      playSide: side,
      fouls: draws.chance(0.05)
        ? [
            {
              foul: 'block in the back',
              by: 'defense',
              reportedBy: draws.pick(['side judge', 'field judge', 'back judge']),
              outcome: 'declined',
            },
          ]
        : [],
      looseBall: 'none',
      score: 'none',
      turnover: 'none',
      timeout: 'none',
      firstTouching: false,
      outOfBounds: false,
      clockAfter: 'stopped',
    };
    let lands = spot + clamp(draws.normal(42, 7), 15, 65);
    let result: NonNullable<Play['kickResult']>;
    if (draws.chance(0.01)) result = 'blocked';
    else if (lands >= 100) result = draws.chance(0.75) ? 'touchback' : 'downed';
    else result = draws.weighted({ returned: 0.42, 'fair catch': 0.32, downed: 0.16, 'out of bounds': 0.1 });
    if (result === 'downed' && lands >= 100) lands = 97;
    if (result === 'touchback') lands = 100;
    if (result === 'blocked') lands = Math.max(1, spot - draws.integer(2, 9));
    play.kickResult = result;
    let ends = lands;
    if (result === 'returned') {
      ends = clamp(lands - draws.integer(0, draws.chance(0.1) ? 35 : 14), 5, 98);
      if (draws.chance(0.03)) play.looseBall = 'muff';
    }
    if (result === 'downed') play.firstTouching = draws.chance(0.5);
    if (result === 'blocked') play.looseBall = 'blocked kick';
    if (result === 'out of bounds') play.outOfBounds = true;
    play.endSpot = clamp(ends, 0, 100);
    play.endSide = result === 'out of bounds' && side === 'middle' ? 'line judge side' : side;
    const team = (this.#teams[this.#withBall] as DemoTeam).place;
    this.#log(play, `${team} punt, ${result}`, draws.integer(8, 15));
    return { how: 'turnover', spot: result === 'touchback' ? 80 : clamp(ends, 1, 99) };
  }

  /** The free kick that starts a half or follows a score. Returns where the receivers start, in their own frame. */
  #kickoff(kicker: 0 | 1, spot: number): number {
    const draws = this.#draws;
    this.#withBall = kicker;
    const behind = this.#score[kicker] < this.#score[kicker === 0 ? 1 : 0];
    const onside = this.#quarter === 4 && this.#clock < 180 && behind && draws.chance(0.6);
    const side: Lane = draws.pick(['head linesman side', 'middle', 'line judge side']);
    const play: Play = {
      ...this.#start('free kick', spot),
      playSide: side,
      onside,
      looseBall: 'none',
      score: 'none',
      turnover: 'none',
      fouls: [],
      timeout: 'none',
      firstTouching: false,
      outOfBounds: false,
      clockAfter: 'stopped',
      confrontation: draws.chance(0.01),
    };
    const team = (this.#teams[kicker] as DemoTeam).place;
    if (onside) {
      const recovered = draws.chance(0.15);
      play.kickResult = 'downed';
      play.endSpot = spot + draws.integer(10, 14);
      play.endSide = side;
      play.pile = true;
      play.looseBall = 'muff';
      play.firstTouching = !recovered && draws.chance(0.2);
      this.#log(
        play,
        `${team} onside kick, ${recovered ? 'recovered by the kickers' : 'recovered by the receivers'}`,
        4,
      );
      if (recovered) return play.endSpot;
      this.#changeSides();
      return 100 - play.endSpot;
    }
    const result = draws.weighted({
      touchback: 0.5,
      returned: 0.42,
      'fair catch': 0.05,
      'out of bounds': 0.03,
    });
    play.kickResult = result;
    let receiversAt = 25;
    if (result === 'touchback') play.endSpot = 100;
    else if (result === 'out of bounds') {
      play.endSpot = 88;
      play.outOfBounds = true;
      play.fouls = [
        {
          foul: 'free kick out of bounds',
          by: 'offense',
          reportedBy: side === 'line judge side' ? 'line judge' : 'head linesman',
          outcome: 'accepted',
        },
      ];
      receiversAt = 35;
    } else if (result === 'returned') {
      receiversAt = clamp(draws.chance(0.07) ? draws.integer(35, 80) : draws.normal(23, 7), 5, 90);
      play.endSpot = 100 - receiversAt;
      play.outOfBounds = side !== 'middle' && draws.chance(0.2);
    } else play.endSpot = 75;
    play.endSide = side === 'middle' && result === 'out of bounds' ? 'head linesman side' : side;
    this.#log(play, `${team} kickoff, ${result}`, result === 'returned' ? draws.integer(5, 8) : 0);
    this.#changeSides();
    return receiversAt;
  }

  #changeSides(): void {
    this.#withBall = this.#withBall === 0 ? 1 : 0;
  }

  #start(kind: Play['kind'], spot: number, down?: number, distance?: number): Play {
    const play: Play = { kind, spot, quarter: this.#quarter, clockSeconds: Math.max(0, this.#clock) };
    if (down !== undefined) play.down = down;
    if (distance !== undefined) play.distance = Math.min(distance, 99);
    return play;
  }

  #log(play: Play, note: string, seconds: number): void {
    const logged: Play = { ...play };
    for (const fact of dispensable) {
      if (!this.#draws.chance(this.#thoroughness)) delete logged[fact];
    }
    this.#plays.push({
      number: this.#plays.length + 1,
      play: logged,
      filmSeconds: this.#filmed ? this.#film : null,
      note,
    });
    this.#film += this.#draws.integer(28, 75);
    this.#clock = Math.max(0, this.#clock - seconds);
  }
}

function yardsText(gain: number): string {
  if (gain === 0) return 'no gain';
  const yards = Math.abs(gain) === 1 ? 'yard' : 'yards';
  return gain > 0 ? `${gain} ${yards}` : `loss of ${-gain} ${yards}`;
}

function depthText(depth: number): string {
  if (depth === 0) return 'at the line';
  return depth > 0 ? `${depth} yards downfield` : `${-depth} yards behind the line`;
}
