// Where a play is in a film. The log's film seconds are those of one film's clock; each film has its own offset to it,
// found by marking the snap of plays.

/** The snap of a play as it was marked in a film. */
export interface Mark {
  readonly playId: string;
  /** The play's number in the log. */
  readonly number: number;
  /** Where the snap is in the film, seconds. */
  readonly seconds: number;
  /** The play's film seconds in the log; null where nobody logged any. */
  readonly logSeconds: number | null;
  readonly quarter: number | null;
  /** Seconds left in the quarter at the snap. */
  readonly clock: number | null;
}

export interface PlayToPlace {
  readonly playId: string;
  readonly number: number;
  readonly logSeconds: number | null;
}

export interface Placed {
  readonly seconds: number;
  /**
   * mark: the play itself was marked; marks: worked out from marked plays; log: as logged, nothing was marked; near: of
   * the last play before it that has a time, since it has none.
   */
  readonly by: 'mark' | 'marks' | 'log' | 'near';
}

type Timed = Mark & { readonly logSeconds: number };

/** Up to so many seconds two marks made by hand agree. */
export const byHand = 1;
/** A clock that runs differently does so by less than this part; more is a break. */
const mostDrift = 0.02;

const isTimed = (mark: Mark): mark is Timed => mark.logSeconds !== null;
export const timedMarks = (marks: readonly Mark[]): Timed[] =>
  marks.filter(isTimed).sort((one, other) => one.logSeconds - other.logSeconds);

/** Film seconds that pass between two marks for each second of the log; undefined where that is no clock's pace. */
export function paceBetween(from: Timed, to: Timed): number | undefined {
  const pace = (to.seconds - from.seconds) / (to.logSeconds - from.logSeconds);
  return Math.abs(pace - 1) <= mostDrift ? pace : undefined;
}

function ofLogSeconds(timed: readonly Timed[], logSeconds: number): number {
  const next = timed.findIndex((mark) => mark.logSeconds > logSeconds);
  const after = next === -1 ? undefined : timed[next];
  const before = next === -1 ? timed.at(-1) : timed[next - 1];
  // Past either end the pace of the last two marks goes on.
  const from = before ?? after!;
  const [one, other] = before && after ? [before, after] : before ? timed.slice(-2) : timed;
  const pace = one && other ? (paceBetween(one, other) ?? 1) : 1;
  const seconds = from.seconds + (logSeconds - from.logSeconds) * pace;
  // With a break between them, not past what is known to be later.
  return Math.max(
    0,
    before && after && after.seconds > before.seconds ? Math.min(seconds, after.seconds) : seconds,
  );
}

/**
 * Where each play is in a film, by id; those of which nothing can be said are left out.
 * @param plays in the order of the log
 */
export function placePlays(marks: readonly Mark[], plays: readonly PlayToPlace[]): Map<string, Placed> {
  const marked = new Map(marks.map((mark) => [mark.playId, mark.seconds]));
  const timed = timedMarks(marks);
  const placed = new Map<string, Placed>();
  let last: number | undefined;
  for (const { playId, logSeconds } of plays) {
    const own = marked.get(playId);
    const place: Placed | undefined =
      own !== undefined
        ? { seconds: own, by: 'mark' }
        : logSeconds !== null
          ? timed.length > 0
            ? { seconds: ofLogSeconds(timed, logSeconds), by: 'marks' }
            : { seconds: logSeconds, by: 'log' }
          : last === undefined
            ? undefined
            : { seconds: last, by: 'near' };
    if (!place) continue;
    placed.set(playId, place);
    last = place.seconds;
  }
  return placed;
}
