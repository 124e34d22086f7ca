import { type Cut, type Pointer, type Shot, secondsOfTicks, type Timebase } from '../../../timeline/cut.ts';

// What can be done to a cut. Each gives a new one and leaves the old as it was, so that it can be taken back.

export const mostShots = 8;
const mostFreezes = 5;
export const mostPointers = 10;

export const withShot = (cut: Cut, at: number, change: (shot: Shot) => Shot): Cut => ({
  ...cut,
  shots: cut.shots.map((shot, place) => (place === at ? change(shot) : shot)),
});

/** The shot from another frame on, or to another; what lies outside goes, a pointer is shortened, and a cover of all stays it. */
export function trimmed(
  shot: Shot,
  { from = shot.from, to = shot.to }: { from?: number; to?: number },
): Shot {
  return {
    ...shot,
    ...{ from, to },
    freezes: shot.freezes.filter(({ at }) => at >= from && at < to),
    pointers: shot.pointers.flatMap((one) => {
      const coversAll = one.shape === 'cover' && one.from === shot.from && one.to === shot.to;
      const shorter = coversAll
        ? { ...one, from, to }
        : { ...one, from: Math.max(from, one.from), to: Math.min(to, one.to) };
      return shorter.from < shorter.to ? [shorter] : [];
    }),
  };
}

export function inserted(cut: Cut, after: number, shot: Shot): Cut {
  if (cut.shots.length >= mostShots) return cut;
  const shots = cut.shots.toSpliced(after + 1, 0, shot);
  const { questionAfter } = cut;
  return {
    ...cut,
    shots,
    questionAfter: questionAfter !== null && questionAfter > after + 1 ? questionAfter + 1 : questionAfter,
  };
}

/** The same stretch again, at half its speed. */
export const repeatedSlowly = (cut: Cut, at: number): Cut =>
  inserted(cut, at, { ...cut.shots[at]!, slow: Math.min(8, cut.shots[at]!.slow * 2), muted: true });

/** Without the shot; the last stays. */
export function removed(cut: Cut, at: number): Cut {
  if (cut.shots.length === 1) return cut;
  const shots = cut.shots.toSpliced(at, 1);
  const { questionAfter } = cut;
  const moved = questionAfter !== null && questionAfter > at ? Math.max(1, questionAfter - 1) : questionAfter;
  return { ...cut, shots, questionAfter: moved };
}

export function moved(cut: Cut, at: number, to: number): Cut {
  const shot = cut.shots[at];
  if (!shot || to < 0 || to >= cut.shots.length) return cut;
  return { ...cut, shots: cut.shots.toSpliced(at, 1).toSpliced(to, 0, shot) };
}

export function frozen(shot: Shot, at: number, seconds = 2): Shot {
  if (shot.freezes.length >= mostFreezes || shot.freezes.some((one) => one.at === at)) return shot;
  return { ...shot, freezes: [...shot.freezes, { at, seconds }].sort((a, b) => a.at - b.at) };
}

const middle = { x: 0.5, y: 0.5, tailX: null, tailY: null };
const placeOf: Record<Pointer['shape'], Pick<Pointer, 'x' | 'y' | 'tailX' | 'tailY'>> = {
  circle: middle,
  spotlight: middle,
  arrow: { x: 0.5, y: 0.5, tailX: 0.4, tailY: 0.7 },
  // Where a scoreboard is most often. Common practice, no source.
  cover: { x: 0.3, y: 0.86, tailX: 0.7, tailY: 0.98 },
};

const twoSeconds = ({ numerator, denominator }: Timebase) => Math.round((2 * denominator) / numerator);

/** With a pointer in the middle of the picture, for two seconds or to the end; a cover at its foot, for all of the shot. */
export function pointed(shot: Shot, shape: Pointer['shape'], at: number): Shot {
  if (shot.pointers.length >= mostPointers) return shot;
  const pointer: Pointer = {
    shape,
    from: shape === 'cover' ? shot.from : at,
    to: shape === 'cover' ? shot.to : Math.min(shot.to, at + twoSeconds(shot.timebase)),
    size: shape === 'spotlight' ? 0.14 : 0.08,
    ...placeOf[shape],
  };
  return { ...shot, pointers: [...shot.pointers, pointer] };
}

export const withPointer = (shot: Shot, at: number, change: Partial<Pointer>): Shot => ({
  ...shot,
  pointers: shot.pointers.map((one, place) => (place === at ? withSides(one, { ...one, ...change }) : one)),
});

const leastSide = 0.01;

/** A cover that is drawn together stays as wide, or as high, as it was last: one without sides hides nothing. */
function withSides(before: Pointer, after: Pointer): Pointer {
  if (after.shape !== 'cover') return after;
  const flat = (one: number, other: number | null) => Math.abs(one - (other ?? 0)) < leastSide - 1e-9;
  return {
    ...after,
    ...(flat(after.x, after.tailX) && { x: before.x, tailX: before.tailX }),
    ...(flat(after.y, after.tailY) && { y: before.y, tailY: before.tailY }),
  };
}

/** The same moment of the play in another film. Both know where the snap is, else the other begins at its begin. */
export function sameMoment(
  shot: Shot,
  here: { seconds: number } | null,
  there: { seconds: number } | null,
): { from: number; to: number } {
  const [from, to] = [secondsOfTicks(shot.from, shot.timebase), secondsOfTicks(shot.to, shot.timebase)];
  if (!here || !there)
    return { from: there ? Math.max(0, there.seconds - 5) : 0, to: (there?.seconds ?? 0) + 5 };
  const later = there.seconds - here.seconds;
  return { from: Math.max(0, from + later), to: to + later };
}
