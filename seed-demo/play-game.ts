import type { DemoTeam } from './conference.ts';
import type { Draws } from './draws.ts';
import { tempo } from './game/clock.ts';
import { freeKick } from './game/free-kicks.ts';
import { fieldGoal, kickIsLonger, triesAfter, tryForPoint } from './game/place-kicks.ts';
import { punt } from './game/punts.ts';
import { kneel, noSnap, scrimmage, spike } from './game/scrimmage.ts';
import {
  type DemoPlay,
  firstAndTen,
  GameState,
  type Next,
  otherTeam,
  type Series,
  type TeamAt,
} from './game/state.ts';

export type { DemoPlay } from './game/state.ts';

const kickoffFrom = 35;
const freeKickAfterSafetyFrom = 20;
const overtimeFrom = 75;

/**
 * Plays one game: kickoffs, drives with downs and distance, kicks, scores, fouls, a clock that runs out. About 170
 * plays. It is a game that looks right to an official, not a model of football.
 */
export class GamePlayer {
  readonly #state: GameState;

  constructor(home: DemoTeam, visitor: DemoTeam, filmed: boolean, draws: Draws) {
    this.#state = new GameState(home, visitor, filmed, draws);
  }

  get score(): readonly [number, number] {
    return this.#state.score;
  }

  play(): DemoPlay[] {
    const kicksFirst: TeamAt = this.#state.draws.chance(0.5) ? 1 : 0;
    this.#half(1, kicksFirst);
    this.#half(3, otherTeam(kicksFirst));
    if (this.#state.score[0] === this.#state.score[1]) this.#overtime();
    return this.#state.plays;
  }

  #half(quarter: 1 | 3, kicker: TeamAt): void {
    const state = this.#state;
    state.beginHalf(quarter);
    let next = this.#follow(freeKick(state, kicker, kickoffFrom));
    for (;;) {
      if (state.periodIsOver) {
        if (state.quarter !== quarter) return;
        state.turnQuarter();
      }
      next = next === 'score' ? this.#follow(this.#kickAfterScore()) : this.#follow(this.#oneDown(next));
    }
  }

  /** Set by the last score: who kicks off, and from where. */
  #kickoff: { by: TeamAt; from: number } = { by: 0, from: kickoffFrom };

  #kickAfterScore(): Next {
    return freeKick(this.#state, this.#kickoff.by, this.#kickoff.from);
  }

  /** Counts what came of a play and says where the next series stands, or that there was a score. */
  #follow(next: Next): Series | 'score' {
    const state = this.#state;
    switch (next.what) {
      case 'down':
        return next.series;
      case 'change':
        state.ball = otherTeam(state.ball);
        return firstAndTen(next.spot);
      case 'touchdown':
        state.score[next.by] += 6;
        if (triesAfter(state, next.by)) tryForPoint(state, next.by);
        this.#kickoff = { by: next.by, from: kickoffFrom };
        return 'score';
      case 'safety':
        state.score[otherTeam(next.against)] += 2;
        this.#kickoff = { by: next.against, from: freeKickAfterSafetyFrom };
        return 'score';
      case 'field goal':
        state.score[state.ball] += 3;
        this.#kickoff = { by: state.ball, from: kickoffFrom };
        return 'score';
    }
  }

  /** The offense's next snap: what it calls here, with this much time. */
  #oneDown(series: Series): Next {
    const state = this.#state;
    const { draws } = state;
    const { spot, down, line } = series;
    // Hurried teams jump oftener.
    if (draws.chance(state.lateInHalf && state.clock < 60 ? 0.05 : 0.021)) return noSnap(state, series);
    if (this.#kneels(series)) return kneel(state, series);
    const length = 100 - spot + kickIsLonger;
    const lastChance =
      state.lateInHalf && state.clock <= 8 && (state.quarter === 2 || (state.lead <= 0 && state.lead >= -3));
    if (lastChance && length <= 54 && down < 4) return fieldGoal(state, series);
    if (down === 4) {
      const mustGo =
        state.quarter === 4 && state.lead < 0 && state.clock < 200 && !(state.lead >= -3 && length <= 52);
      const short = line - spot <= 3 && spot >= 40 && draws.chance(line - spot === 1 ? 0.8 : 0.6);
      const between = spot >= 60 && length > 52 && line - spot <= 7 && draws.chance(0.6);
      if (!mustGo && !short && !between) return length <= 54 ? fieldGoal(state, series) : punt(state, series);
    }
    const hurried = tempo(state) === 'hurried' && state.clockBefore === 'running';
    if (hurried && down <= 2 && state.clock < 90 && state.clock > 3 && draws.chance(0.4))
      return spike(state, series);
    return scrimmage(state, series);
  }

  /** Ahead at the end of the game, or deep in its own end before half-time, the offense lets the clock run out. */
  #kneels({ spot, down }: Series): boolean {
    const { quarter, clock, lead, ball, timeouts, draws } = this.#state;
    if (spot < 3 || clock <= 0) return false;
    if (quarter === 4 && lead > 0) {
      // Down by two scores the other team lets it go.
      const saves = lead > 8 ? 0 : 36 * timeouts[otherTeam(ball)];
      return clock <= 40 * (4 - down) - saves + 4;
    }
    return quarter === 2 && clock <= 36 && spot < 45 && down === 1 && draws.chance(0.75);
  }

  /**
   * One series each from the opponent's 25 until the score differs. No clock, no kicks but for goal. A third period
   * would be tries alone; the demo has none: it is played again until it ends in two.
   */
  #overtime(): void {
    const state = this.#state;
    const before = { plays: state.plays, score: state.score, film: state.film };
    for (;;) {
      state.plays = [...before.plays];
      state.score = [...before.score];
      state.film = before.film;
      for (state.quarter = 5; state.quarter <= 6; state.quarter += 1) {
        // Who was second before is first now.
        const first: TeamAt = state.quarter % 2 === 0 ? 0 : 1;
        this.#series(first, false);
        const decided = state.score[first] !== state.score[otherTeam(first)] && state.ball !== first;
        if (!decided) this.#series(otherTeam(first), true);
        if (state.score[0] !== state.score[1]) return;
      }
    }
  }

  /** One possession of overtime. With `last`, it ends as soon as the score decides the game. */
  #series(team: TeamAt, last: boolean): void {
    const state = this.#state;
    state.ball = team;
    state.hash = 'middle';
    let series = firstAndTen(overtimeFrom);
    for (;;) {
      const next = this.#overtimeDown(series, last);
      if (next.what === 'down') {
        series = next.series;
        continue;
      }
      if (next.what === 'touchdown') {
        state.score[next.by] += 6;
        const decided = next.by !== team || (last && state.lead > 0);
        if (!decided) tryForPoint(state, next.by);
        state.ball = next.by;
      } else if (next.what === 'safety') {
        state.score[otherTeam(next.against)] += 2;
        state.ball = otherTeam(next.against);
      } else if (next.what === 'field goal') state.score[team] += 3;
      return;
    }
  }

  #overtimeDown(series: Series, last: boolean): Next {
    const state = this.#state;
    const wins = last && state.lead >= -2;
    const mustScore = last && state.lead < -3;
    if (series.down === 4 && !mustScore) return fieldGoal(state, series);
    if (wins && series.spot >= 80 && series.down === 3) return fieldGoal(state, series);
    return scrimmage(state, series);
  }
}
