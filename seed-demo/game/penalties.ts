import type { Foul } from '../../server/football/fouls.ts';
import type { Play } from '../../server/football/play.ts';
import type { Draws } from '../draws.ts';
import {
  drawFoul,
  type FoulKind,
  foulsAfterThePlay,
  foulsBeforeTheSnap,
  liveBallFouls,
} from './foul-kinds.ts';
import { clamp, firstAndTen, type GameState, type Next, type Series } from './state.ts';

/** Shares of plays, and of plays with a flag. */
const liveFoul = 0.065;
const secondFlag = 0.12;
/** Of second flags, those on the same team. */
const sameTeam = 0.5;
const thirdFlag = 0.12;
const pickedUp = 0.005;
const foulAfterThePlay = 0.005;
const foulInAConfrontation = 0.3;

/** What a penalty is worth: about the points that a series at this place brings, seen by the offense. For choices only. */
function worth(next: Next): number {
  if (next.what === 'touchdown') return 7;
  if (next.what === 'change') return -0.06 * next.spot;
  if (next.what !== 'down') return 0;
  const { spot, down, line } = next.series;
  const cost = [0, 0.4, 1.1, 2.6][down - 1] as number;
  return 0.06 * spot + 0.4 - cost * (0.4 + Math.min(1.5, (line - spot) / 10));
}

/** No penalty goes more than half the way to a goal line. */
function stepped(from: number, yards: number): number {
  const most = yards < 0 ? Math.floor(from / 2) : Math.floor((100 - from) / 2);
  return clamp(from + Math.sign(yards) * Math.min(Math.abs(yards), most), 1, 99);
}

function whereItHappened({ kind, foul }: { kind: FoulKind; foul: Foul }, play: Play, draws: Draws): number {
  const ended = play.endSpot ?? play.spot;
  if (/pass interference|holding$/.test(kind.foul) && kind.foul !== 'holding')
    return clamp(play.spot + (play.catchDepth ?? 5), 1, 100);
  if (/grounding|illegal forward pass/.test(kind.foul))
    return clamp(play.spot + (play.throwDepth ?? -6), 1, 99);
  if (kind.foul === 'block in the back')
    return ended > play.spot ? draws.integer(play.spot, Math.min(ended, 99)) : play.spot;
  if (kind.moment === 'dead ball' || foul.by === 'defense') return clamp(ended, 0, 100);
  return clamp(play.spot - draws.integer(0, 3), 1, 99);
}

/** Where the series stands when the penalty of a live-ball foul is taken. */
function whenEnforced(kind: FoulKind, foul: Foul, play: Play, before: Series): Next {
  const at = foul.spot ?? before.spot;
  if (foul.by === 'defense') {
    if (kind.foul === 'defensive pass interference') {
      const spot = at >= 100 ? Math.min(98, before.spot + 15) : Math.min(at, before.spot + 15);
      return { what: 'down', series: firstAndTen(Math.max(spot, Math.min(before.spot, 98))) };
    }
    const ended = play.passResult === 'incomplete' ? before.spot : (play.endSpot ?? before.spot);
    const base = kind.from === 'end of the run' ? Math.max(before.spot, ended) : before.spot;
    const spot = stepped(base, kind.yards);
    if (kind.automaticFirstDown || spot >= before.line) return { what: 'down', series: firstAndTen(spot) };
    return { what: 'down', series: { ...before, spot } };
  }
  const base = kind.from === 'spot of the foul' || kind.foul === 'block in the back' ? at : before.spot;
  const spot = stepped(base, -kind.yards);
  return { what: 'down', series: { ...before, spot, down: before.down + (kind.lossOfDown ? 1 : 0) } };
}

/** Moves what comes next by a foul after the play. `by` is the team at the snap. */
function afterTheSuccession(next: Next, kind: FoulKind): Next {
  if (kind.yards === 0) return next;
  if (next.what === 'change') {
    const towards = kind.by === 'offense' ? kind.yards : -kind.yards;
    return { what: 'change', spot: stepped(next.spot, towards) };
  }
  if (next.what !== 'down') return next;
  const { series } = next;
  const spot = stepped(series.spot, kind.by === 'offense' ? -kind.yards : kind.yards);
  const anew = series.down === 1 || kind.by === 'defense';
  return { what: 'down', series: anew ? firstAndTen(spot) : { ...series, spot } };
}

interface Settled {
  next: Next;
  /** The down does not count: it is played again, or the penalty gave another. */
  annulled: boolean;
  /** A period that has run out goes on for one more down. */
  extendsPeriod: boolean;
}

/**
 * Draws the flags of a run or a pass and settles them as the rules do: the offended side takes the penalty or declines
 * it, fouls of both teams offset, fouls after the play are added on. A touchdown or a lost ball stays what it is:
 * there, only fouls are called whose penalty is declined.
 */
export function settleFouls(
  state: GameState,
  play: Play,
  before: Series,
  natural: Next,
  onDowns: boolean,
): Settled {
  const { draws } = state;
  const fouls: Foul[] = [];
  const flag = (kinds: readonly FoulKind[]) => {
    if (!kinds.some((kind) => kind.on(play))) return undefined;
    const drawn = drawFoul(kinds, play, draws);
    drawn.foul.spot = whereItHappened(drawn, play, draws);
    return drawn;
  };
  let next = natural;
  let annulled = false;
  let extendsPeriod = false;
  const kept = natural.what !== 'down' && !onDowns;
  const gainer = natural.what === 'touchdown' && natural.by === state.ball ? 'offense' : 'defense';
  if (draws.chance(play.throwDepth !== undefined && play.throwDepth > 0 ? 0.8 : liveFoul)) {
    const drawn = flag(liveBallFouls.filter(({ by }) => !kept || by !== gainer));
    if (drawn !== undefined) {
      const { kind, foul } = drawn;
      const taken = whenEnforced(kind, foul, play, before);
      const gain = worth(taken) - worth(natural);
      const takes = !kept && taken.what === 'down' && taken.series.down <= 4;
      foul.outcome = takes && (foul.by === 'defense' ? gain > 0 : gain < 0) ? 'accepted' : 'declined';
      fouls.push(foul);
      if (foul.outcome === 'accepted') {
        next = taken;
        annulled = true;
        extendsPeriod = foul.by === 'defense';
      }
      for (let more = draws.chance(secondFlag) ? (draws.chance(thirdFlag) ? 2 : 1) : 0; more > 0; more -= 1) {
        const same = draws.chance(sameTeam);
        const other = flag(
          liveBallFouls.filter(
            ({ by, foul: name }) =>
              name !== foul.foul && (same ? by === foul.by : true) && (!kept || by !== gainer),
          ),
        );
        if (other === undefined) continue;
        fouls.push(other.foul);
        if (other.foul.by === foul.by) other.foul.outcome = 'declined';
        else if (kept) other.foul.outcome = 'declined';
        else {
          for (const one of fouls) one.outcome = 'offsetting';
          next = { what: 'down', series: before };
          annulled = true;
          extendsPeriod = true;
        }
      }
      if (fouls.some(({ outcome }) => outcome === 'offsetting'))
        for (const one of fouls) one.outcome = 'offsetting';
      const disqualified = kind.disqualifies && foul.outcome !== undefined;
      if (disqualified) {
        play.replay = 'confirmed';
        play.ejection = true;
      }
    }
  }
  if (draws.chance(pickedUp)) {
    const drawn = flag(liveBallFouls.filter(({ disqualifies }) => !disqualifies));
    if (drawn !== undefined) fouls.push({ ...drawn.foul, outcome: 'picked up' });
  }
  const late = play.confrontation ? foulInAConfrontation : foulAfterThePlay;
  if ((next.what === 'down' || next.what === 'change') && draws.chance(late)) {
    const drawn = flag(foulsAfterThePlay)!;
    next = afterTheSuccession(next, drawn.kind);
    fouls.push({ ...drawn.foul, outcome: 'accepted' });
    if (drawn.kind.player !== 'coach' && draws.chance(0.06)) play.ejection = true;
  }
  play.fouls = fouls;
  return { next, annulled, extendsPeriod };
}

/** A foul that kept the ball from being put in play, and where the series stands after it. */
export function foulBeforeTheSnap(play: Play, before: Series, draws: Draws): Series {
  const { kind, foul } = drawFoul(foulsBeforeTheSnap, play, draws);
  play.fouls = [{ ...foul, outcome: 'accepted', spot: before.spot }];
  const spot = stepped(before.spot, foul.by === 'offense' ? -kind.yards : kind.yards);
  return spot >= before.line ? firstAndTen(spot) : { ...before, spot };
}
