import { type Code, codeFacts } from './codes.ts';
import type { Foul } from './fouls.ts';
import { type Penalty, penaltyFor, stepped } from './penalties.ts';
import type { Play } from './play.ts';

/** What comes next, and who snaps or kicks, seen from the play before. */
export interface Next {
  readonly play: Play;
  readonly ball: 'the same team' | 'the other team';
}

/** Of an interference no more than this is measured, and it is put here when it was in the end zone. From memory. */
const mostOfAnInterference = 15;
const afterInterferenceInTheEndZone = 98;

/** Fouls of a team that has the ball after it changed hands; before that the defense does not block. */
const onReturns: readonly string[] = [
  'block in the back',
  'illegal block below the waist',
  'clipping',
  'holding',
];

/**
 * What follows once the fouls of a play are enforced; `natural` is what would follow without them. Where the facts or
 * the name of a foul do not tell, the down and distance are left out, to be said. NCAA rule 10, NFHS rule 10, from
 * memory: check the current edition.
 */
export function afterFouls(last: Play, natural: Next, code: Code): Next {
  const fouls = (last.fouls ?? []).filter(({ outcome }) => outcome !== 'declined' && outcome !== 'picked up');
  if (fouls.length === 0) return natural;
  // What stops a play before it starts is no foul after a play: the series goes on.
  const isDead = (foul: Foul) =>
    last.kind !== 'no snap' &&
    (foul.moment === 'dead ball' ||
      (foul.moment === undefined && penaltyFor(foul, code)?.from === 'succeeding spot'));
  const offsetting = fouls.filter(({ outcome }) => outcome === 'offsetting');
  let next = natural;
  if (offsetting.length > 0) {
    // Fouls after the play do not undo it.
    if (!offsetting.every(isDead)) next = replayed(last);
  } else {
    const live = fouls.filter((foul) => !isDead(foul));
    const undone = live.some(({ by }) => by === 'offense');
    if (fouls.some(({ outcome }) => outcome === undefined)) return open(natural, last, undone);
    const [foul, another] = live;
    // Of two fouls of one team only one is accepted, and nothing says which.
    if (another !== undefined) return open(natural, last, undone);
    if (foul !== undefined) {
      const enforced = whileLive(last, foul, natural, code);
      if (enforced === undefined) return open(natural, last, undone);
      next = enforced;
    }
  }
  for (const foul of fouls) {
    if (foul.outcome !== 'accepted' || !isDead(foul)) continue;
    const moved = afterThePlay(last, next, foul, code);
    if (moved === undefined) return open(next, last, false);
    next = moved;
  }
  return next;
}

/** The same down again. */
function replayed({ kind, spot, down, distance }: Play): Next {
  const again: Play = { kind: kind === 'no snap' || kind === 'pass' ? 'run' : kind, spot };
  if (down !== undefined) again.down = down;
  if (distance !== undefined) again.distance = distance;
  return { play: again, ball: 'the same team' };
}

/**
 * Nobody can tell: the spot is where the ball was, and down and distance are left to be said. After a score that no foul
 * may have undone there is a try or a free kick all the same.
 */
function open(next: Next, { spot }: Play, undone: boolean): Next {
  if (!undone && isAfterAScore(next)) return next;
  return { play: { kind: 'run', spot }, ball: next.ball };
}

const isAfterAScore = ({ play: { kind } }: Next) => kind === 'try' || kind === 'free kick';

const firstAndTen = (spot: number): Play => ({
  kind: 'run',
  spot: onField(spot),
  down: 1,
  distance: Math.max(1, Math.min(10, 100 - onField(spot))),
});
const onField = (spot: number) => Math.max(1, Math.min(99, spot));

function whileLive(last: Play, foul: Foul, natural: Next, code: Code): Next | undefined {
  const kicked = last.kind === 'punt' || last.kind === 'free kick';
  if (kicked && foul.by === 'offense') return byTheKickers(last, foul, code);
  if (last.kind === 'try' || (last.kind === 'no snap' && natural.play.kind === 'try')) {
    return onATry(last, foul, natural, code);
  }
  const lost =
    (last.kind === 'punt' && last.kickResult !== 'blocked') ||
    last.kind === 'free kick' ||
    (last.turnover === undefined
      ? last.passResult === 'intercepted' || last.recoveredBy === 'defense'
      : last.turnover !== 'none' && last.turnover !== 'downs');
  const penalty = penaltyFor(foul, code);
  if (foul.by === 'defense' && lost) {
    if (onReturns.includes(foul.foul)) return onTheReturn(last, foul, natural, code);
    if (last.kind === 'free kick' || penalty?.from !== 'previous spot') return undefined;
  }
  if (last.kind === 'free kick') return undefined;
  // A field goal that was good: its points are given up for the yards, or the yards go to the kickoff.
  if (last.kind === 'place kick' && (foul.by === 'offense' || (last.score ?? 'none') !== 'none'))
    return undefined;
  if (penalty === undefined || last.down === undefined || last.distance === undefined) return undefined;
  if (foul.by === 'offense') {
    // A foul of the team that then lost the ball is declined, or was after the change.
    return lost ? undefined : byTheOffense(last, last.down, last.distance, foul, penalty, code);
  }
  // A score of the offense stands; the penalty goes to the try or the kickoff.
  if (last.score === 'touchdown' && natural.ball === 'the same team') return natural;
  return byTheDefense(last, last.down, last.distance, foul, penalty);
}

function byTheOffense(
  last: Play,
  down: number,
  distance: number,
  foul: Foul,
  penalty: Penalty,
  code: Code,
): Next | undefined {
  const line = last.spot + distance;
  const from = whereFrom(last, foul, penalty);
  if (from === undefined) return undefined;
  if (isInItsEndZone(last, foul, penalty)) {
    return {
      play: { kind: 'free kick', spot: codeFacts[code].freeKickAfterSafetyFrom },
      ball: 'the same team',
    };
  }
  const spot = onField(stepped(from, -penalty.yards));
  const next = down + (penalty.lossOfDown ? 1 : 0);
  if (penalty.lossOfDown && spot >= line) return { play: firstAndTen(spot), ball: 'the same team' };
  if (next > 4) return { play: firstAndTen(100 - spot), ball: 'the other team' };
  return {
    play: { kind: next === 4 ? 'punt' : 'run', spot, down: next, distance: atLeastOne(line - spot) },
    ball: 'the same team',
  };
}

/**
 * Was it where the penalty for it is a safety: a block or a throw by the offense behind its own goal line? NCAA 8-5-1,
 * NFHS 8-5-2, from memory.
 */
function isInItsEndZone(last: Play, { spot }: Foul, { from, yards }: Penalty): boolean {
  if (from === 'spot of the foul') {
    return (spot ?? (last.throwDepth === undefined ? 1 : last.spot + last.throwDepth)) <= 0;
  }
  return from !== 'succeeding spot' && yards >= 10 && spot !== undefined && spot <= 0;
}

/**
 * A try that was good although the defense fouled stands, and one that failed although the offense fouled; else it is
 * tried again, nearer or farther.
 */
function onATry(last: Play, foul: Foul, natural: Next, code: Code): Next | undefined {
  const penalty = penaltyFor(foul, code);
  if (penalty === undefined) return undefined;
  const good = last.score === 'try good';
  if (last.kind === 'try' && good === (foul.by === 'defense')) return natural;
  if (foul.by === 'offense' && penalty.lossOfDown) return natural;
  const yards = foul.by === 'offense' ? -penalty.yards : penalty.yards;
  return { play: { kind: 'try', spot: onField(stepped(last.spot, yards)) }, ball: 'the same team' };
}

function byTheDefense(
  last: Play,
  down: number,
  distance: number,
  foul: Foul,
  penalty: Penalty,
): Next | undefined {
  const line = last.spot + distance;
  const ball = 'the same team';
  let spot: number;
  let counts = false;
  if (foul.foul === 'defensive pass interference' && penalty.firstDown) {
    const at = foul.spot ?? (last.catchDepth === undefined ? undefined : last.spot + last.catchDepth);
    if (at === undefined) return undefined;
    const farthest = last.spot + mostOfAnInterference;
    spot = Math.min(at, farthest, at >= 100 ? afterInterferenceInTheEndZone : 99);
    spot = Math.max(spot, last.spot);
  } else {
    const from = whereFrom(last, foul, penalty);
    if (from === undefined) return undefined;
    counts = from > last.spot;
    spot = onField(stepped(from, penalty.yards));
  }
  if (penalty.firstDown || spot >= line) return { play: firstAndTen(spot), ball };
  const next = down + (counts ? 1 : 0);
  if (next > 4) return undefined;
  return {
    play: { kind: next === 4 ? 'punt' : 'run', spot, down: next, distance: atLeastOne(line - spot) },
    ball,
  };
}

/** The spot that the penalty is measured from; undefined when it is not logged. */
function whereFrom(last: Play, foul: Foul, penalty: Penalty): number | undefined {
  const ended = last.passResult === 'incomplete' || last.kind === 'no snap' ? last.spot : last.endSpot;
  switch (penalty.from) {
    case 'previous spot':
      // In the open field the offense's foul is measured from where it was, when that was logged.
      return foul.by === 'offense' && penalty.rule !== 'pass interference' && penalty.yards >= 10
        ? Math.max(last.spot, Math.min(foul.spot ?? last.spot, ended ?? last.spot))
        : last.spot;
    case 'end of the run':
      return ended === undefined ? undefined : Math.max(last.spot, ended);
    case 'spot of the foul':
      return foul.spot ?? (last.throwDepth === undefined ? undefined : onField(last.spot + last.throwDepth));
    case 'all but one':
      // On a loose-ball play, as a pass is, from the previous spot.
      if (last.kind === 'pass') return last.spot;
      return foul.spot === undefined || ended === undefined ? undefined : Math.min(foul.spot, ended);
    case 'succeeding spot':
      return ended;
  }
}

/** Of the kicking team: what only it can do. The rest depends on what the receivers choose. */
function byTheKickers(last: Play, foul: Foul, code: Code): Next | undefined {
  const theirs = (spot: number): Next => ({ play: firstAndTen(100 - onField(spot)), ball: 'the other team' });
  if (foul.foul === 'kick-catch interference') {
    const at = foul.spot ?? last.kickTo;
    return at === undefined ? undefined : theirs(stepped(at, -15));
  }
  // Thirty yards beyond where it was kicked in college, 25 in high school. NCAA 6-2-1, NFHS 6-1-9, from memory.
  if (foul.foul === 'free kick out of bounds') return theirs(last.spot + (code === 'college' ? 30 : 25));
  return last.kind === 'punt' && last.down !== undefined && penaltyFor(foul, code)?.yards === 5
    ? byTheOffense(last, last.down, last.distance ?? 10, foul, penaltyFor(foul, code)!, code)
    : undefined;
}

/** Of the team that has the ball by now: from where it was, if that is behind where the return ended. */
function onTheReturn(last: Play, foul: Foul, natural: Next, code: Code): Next | undefined {
  const penalty = penaltyFor({ ...foul, by: 'offense' }, code);
  const { spot: at } = foul;
  if (penalty === undefined || at === undefined || last.endSpot === undefined || last.score === 'touchdown')
    return undefined;
  if (natural.ball !== 'the other team') return undefined;
  // Towards 100 is behind for them.
  const from = Math.max(at, last.endSpot);
  return { play: firstAndTen(100 - onField(stepped(from, penalty.yards))), ball: 'the other team' };
}

/**
 * A foul after the play moves where the next down or the kickoff starts; a series that is new is measured after it. After
 * a touchdown it is put on the try or on the kickoff, as the other team chooses: a try follows in any case.
 */
function afterThePlay(last: Play, next: Next, foul: Foul, code: Code): Next | undefined {
  const known = penaltyFor(foul, code);
  const yards = known?.yards;
  const { play, ball } = next;
  if (yards === 0 || play.kind === 'try') return next;
  if (yards === undefined) return undefined;
  const byTheBall = (foul.by === 'offense') === (ball === 'the same team');
  const spot = onField(stepped(play.spot, byTheBall ? -yards : yards));
  if (play.kind === 'free kick') return { play: { ...play, spot }, ball };
  if (play.kind !== 'run' && play.kind !== 'punt') return undefined;
  const { down, distance } = play;
  if (down === undefined || distance === undefined) return undefined;
  const line = play.spot + distance;
  const goesOn = last.down === 1 && ball === 'the same team' && line === last.spot + (last.distance ?? 0);
  if ((down === 1 && !goesOn) || (!byTheBall && (known?.firstDown || spot >= line)))
    return { play: firstAndTen(spot), ball };
  return { play: { ...play, spot, distance: atLeastOne(line - spot) }, ball };
}

const atLeastOne = (yards: number) => Math.max(1, Math.min(99, yards));
