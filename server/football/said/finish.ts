import { codeFacts } from '../codes.ts';
import { impliedFacts } from '../implied-facts.ts';
import { nothingElseHappened } from '../nothing-unusual.ts';
import { type Fact, type Play, playSchema } from '../play.ts';
import type { Draft } from './draft.ts';

// What a whole line says of a play, beyond what each word says for itself: a side and a number mean one thing after a
// run and another after a kick.

/** The play that was said. What cannot be a play's fact is left out. */
export function finish(draft: Draft): Play {
  const { play } = draft;
  if (draft.goal) play.distance = Math.max(1, 100 - play.spot);
  if (play.kind === 'punt' || play.kind === 'free kick') finishKick(draft);
  else if (play.kind === 'place kick' || isTryByKick(draft)) finishPlaceKick(draft);
  else if (play.kind !== 'no snap') finishDown(draft);
  finishLooseBall(draft);
  finishScore(draft);
  finishFouls(draft);
  const whole = draft.nothingElse ? nothingElseHappened(valid(play), draft.context.code) : valid(play);
  return valid({ ...whole, ...impliedFacts(whole, draft.context.code) });
}

/** A try of which only good or no good was said is one by kick. */
const isTryByKick = ({ play, good, sides, numbers }: Draft): boolean =>
  play.kind === 'try' &&
  (play.tryBy === 'kick' ||
    (play.tryBy === undefined && good !== undefined && sides.length + numbers.length === 0));

/** Turns the play into one of another kind: what a kickoff or a try does not have goes. */
export function turnTo(play: Play, kind: Play['kind'], { context }: Pick<Draft, 'context'>): void {
  if (play.kind === kind) return;
  const rules = codeFacts[context.code];
  if (kind === 'free kick' || kind === 'try') {
    delete play.down;
    delete play.distance;
    if (kind === 'free kick') play.spot = rules.kickoffFrom;
    else play.spot = rules.tryFrom;
  }
  play.kind = kind;
}

/** A run or a pass, also on a try: the first side is where it went, the last where it was dead. */
function finishDown(draft: Draft): void {
  const { play, sides, numbers } = draft;
  const isPass = play.kind === 'pass' || play.tryBy === 'pass';
  if (play.kind === 'try' && play.tryBy === undefined && sides.length + numbers.length > 0)
    play.tryBy = 'run';
  const [side, end] = sides;
  if (side !== undefined) play.playSide = side;
  const fumbled = play.looseBall === 'fumble' || play.looseBall === 'muff';
  const thrownFor = play.passResult === 'incomplete' || play.passResult === 'intercepted';
  if (thrownFor) {
    const [depth] = numbers;
    if (depth !== undefined && play.catchDepth === undefined) play.catchDepth = depth;
  } else {
    // Two numbers on a pass: where it was caught, then the gain.
    const [first, second] = numbers;
    if (isPass && second !== undefined) play.catchDepth ??= first;
    const gain = isPass && second !== undefined ? second : first;
    if (gain !== undefined && play.endSpot === undefined) {
      if (isInBounds(play.spot + gain)) play.endSpot = play.spot + gain;
    } else if (gain !== undefined && fumbled) draft.lostAt = play.spot + gain;
    const ended = play.endSpot !== undefined || draft.out !== undefined || draft.touchdown;
    if (isPass && play.passResult === undefined && (ended || play.catchDepth !== undefined)) {
      play.passResult = 'complete';
    }
  }
  const line = play.distance === undefined ? undefined : play.spot + play.distance;
  if (line !== undefined && play.endSpot === undefined) {
    if (draft.short) play.endSpot = line - 1;
    else if (draft.reached) play.endSpot = line;
  }
  if (play.snapFor === 'kneel') play.endSpot ??= play.spot - 1;
  if (draft.returned.said && draft.returned.yards !== undefined && draft.caughtAt !== undefined) {
    play.endSpot ??= draft.caughtAt - draft.returned.yards;
  }
  const last = end ?? draft.returned.sides.at(-1);
  if (last !== undefined) play.endSide = last;
  else if (
    side !== undefined &&
    play.endSide === undefined &&
    (!thrownFor || play.passResult === 'intercepted')
  ) {
    play.endSide = side;
  }
  finishSideline(draft, play.passResult !== 'incomplete' && !fumbled && play.endSpot !== undefined);
}

/** A punt or a free kick: the first side is where it came down, a side after the return where it went. */
function finishKick(draft: Draft): void {
  const { play, sides, numbers, returned } = draft;
  const [length, back] = numbers;
  if (length !== undefined) play.kickTo ??= play.spot + length;
  if (back !== undefined) returned.yards ??= back;
  if (returned.yards !== undefined) returned.said = true;
  const loose = play.looseBall !== undefined && play.looseBall !== 'none';
  if (returned.said && !loose) play.kickResult ??= 'returned';
  if (returned.yards !== undefined && play.kickTo !== undefined)
    play.endSpot ??= play.kickTo - returned.yards;
  if (draft.out && !returned.said && !loose && !draft.touchdown) play.kickResult ??= 'out of bounds';
  const [side, ...more] = sides;
  if (side !== undefined) play.kickSide = side;
  const [to] = returned.sides;
  if (to !== undefined) play.playSide = to;
  const recovered = play.recoveredBy !== undefined && !loose;
  if (recovered) play.kickResult ??= 'downed';
  const untouched = play.kickResult !== 'returned' && !loose;
  if (untouched && play.kickResult !== 'touchback' && play.kickResult !== undefined) {
    if (play.kickTo !== undefined) play.endSpot ??= play.kickTo;
    else if (play.endSpot !== undefined) play.kickTo = clamped(play.endSpot);
  }
  if (play.kickResult === 'touchback') play.endSpot ??= 100;
  const last = returned.sides.at(-1) ?? more.at(-1) ?? (returned.said ? undefined : side);
  if (last !== undefined && play.kickResult !== 'touchback') play.endSide ??= last;
  finishSideline(draft, returned.said && !loose && play.endSpot !== undefined);
}

function finishPlaceKick({ play, good }: Draft): void {
  if (play.kind === 'try') play.tryBy = 'kick';
  if (good !== undefined) play.kickResult = good ? 'good' : 'no good';
}

/** Who said where a ball was carried to and not that it went out, said that it was dead in bounds. */
function finishSideline({ play, out, touchdown }: Draft, carried: boolean): void {
  if (out !== undefined) play.outOfBounds = out;
  else if (carried || touchdown) play.outOfBounds ??= false;
}

function finishLooseBall(draft: Draft): void {
  const { play, lost } = draft;
  if (play.looseBall === undefined || play.looseBall === 'none') return;
  const kicked = play.kind === 'punt' || play.kind === 'free kick';
  if (lost) {
    play.recoveredBy ??= kicked ? 'offense' : 'defense';
  }
  if (play.looseBall === 'muff' && play.looseBallSpot !== undefined && kicked) {
    play.kickTo ??= play.looseBallSpot;
    play.kickTouchedBy ??= 'receiving team';
  }
  if (play.looseBallSpot !== undefined && play.recoveredBy !== undefined) play.endSpot ??= play.looseBallSpot;
  if (draft.lostAt !== undefined && draft.lostAt !== play.endSpot)
    play.looseBallSpot ??= clamped(draft.lostAt);
  if (play.recoveredBy === undefined) return;
  if (!kicked) {
    if (play.passResult === 'intercepted' || play.kind === 'try' || play.kind === 'place kick') return;
    if (play.recoveredBy === 'defense') play.turnover ??= 'fumble';
    else if ((play.down ?? 4) < 4) play.turnover ??= 'none';
  } else if (play.looseBall === 'muff') {
    // The kicking team that recovers a kick after a muff has it where it is downed; the receivers lost it.
    play.turnover ??= play.recoveredBy === 'offense' ? 'fumble' : 'none';
    play.kickResult ??= play.recoveredBy === 'offense' ? 'downed' : 'returned';
  }
}

function finishScore(draft: Draft): void {
  const { play, touchdown, good, returned } = draft;
  if (touchdown) {
    const theirs =
      play.passResult === 'intercepted' ||
      play.turnover === 'fumble' ||
      returned.said ||
      play.looseBall === 'blocked kick';
    play.score = play.kind === 'try' ? 'try good' : 'touchdown';
    play.endSpot = theirs ? 0 : 100;
  } else if (good !== undefined && play.kind === 'try') {
    play.score = good ? 'try good' : 'none';
    if (good && play.tryBy !== 'kick') play.endSpot ??= 100;
  } else if (good && play.kind === 'place kick') play.score = 'field goal';
  else if (draft.short && play.kind === 'try') play.score = 'none';
}

function finishFouls({ play, outcome, offsetting }: Draft): void {
  for (const foul of play.fouls ?? []) {
    if (offsetting) foul.outcome ??= 'offsetting';
    else if (outcome !== undefined) foul.outcome ??= outcome;
  }
  if (play.helmetOff && play.fouls?.length === 0) play.helmetOffByFoul ??= false;
}

/** Between the end lines, ten yards behind the goal lines. */
const isInBounds = (yards: number) => yards >= -10 && yards <= 110;
const clamped = (yards: number) => Math.max(0, Math.min(100, yards));

/** Without the facts that the schema of a play refuses, such as a spot behind the stands. */
function valid(play: Play): Play {
  const checked = playSchema.safeParse(play);
  if (checked.success) return checked.data;
  const left: Play = { ...play };
  for (const { path } of checked.error.issues) delete left[path[0] as Fact];
  return playSchema.parse(left);
}
