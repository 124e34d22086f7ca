import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Contradiction, Found, NumberedPlay } from './contradiction.ts';
import { officialsNotThere } from './officials.ts';
import { doesNotFollow, type LastTime, timeRunsBackwards, tryWithoutTouchdown } from './play-to-play.ts';
import { withinAPlay } from './within-a-play.ts';

export type { Contradiction } from './contradiction.ts';

/**
 * Where a game's play log contradicts itself: one play against itself, against the play before it, or against who
 * worked the game. Only what cannot be true is told: where a foul may have moved the ball nothing is said of spot and
 * down, and a fact that nobody logged makes no contradiction. Only a loose ball, a review, an inadvertent whistle and
 * momentum, which are rare, are taken as not having happened while nobody logged them. `plays` are in the order of the
 * log; with an empty `crew` nothing is said of officials.
 */
export function contradictionsIn(
  plays: readonly NumberedPlay[],
  crew: readonly Position[],
  code: Code = 'college',
): Contradiction[] {
  const there = new Set(crew);
  const between = new Map<number, Found[]>();
  for (const { number, ...found } of sequenceBreaks(plays, code)) {
    between.set(number, [...(between.get(number) ?? []), found]);
  }
  return plays.flatMap(({ number, play }) =>
    [...withinAPlay(play, code), ...officialsNotThere(play, there), ...(between.get(number) ?? [])].map(
      (one) => ({ number, ...one }),
    ),
  );
}

/** Where a play does not follow from those before it: quarter, clock, kind, team, down, spot and distance. */
export function sequenceBreaks(plays: readonly NumberedPlay[], code: Code = 'college'): Contradiction[] {
  let time: LastTime = {};
  return plays.flatMap(({ number, play }, at) => {
    const found: Found[] = [];
    const before = plays[at - 1];
    if (before) {
      found.push(...timeRunsBackwards(time, before, play));
      const noTouchdown = tryWithoutTouchdown(lastFirst(plays, at), play);
      if (noTouchdown) found.push(noTouchdown);
      if (before.number === number - 1) found.push(...doesNotFollow(before, play, code));
    }
    time = timeAfter(time, play);
    return found.map((one) => ({ number, ...one }));
  });
}

function timeAfter(time: LastTime, { quarter, clockSeconds, replay }: Play): LastTime {
  if (quarter === undefined) return time;
  const kept = quarter === time.quarter ? time : { quarter };
  // A review may put time back on the clock.
  if (replay !== undefined && replay !== 'none') return { quarter };
  return clockSeconds === undefined ? kept : { quarter, clockSeconds };
}

function* lastFirst(plays: readonly NumberedPlay[], before: number): Iterable<NumberedPlay> {
  for (let at = before - 1; at >= 0; at--) yield plays[at]!;
}
