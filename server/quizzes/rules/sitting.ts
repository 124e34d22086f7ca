/** What decides over the time of one official's sittings of a quiz. */
interface TimeRules {
  readonly opensAt: Date;
  readonly closesAt: Date;
  readonly minutes: number;
  readonly starts: number;
  readonly hoursBetween: number;
  /** Nobody begins a sitting any more; one that goes on is handed in. */
  readonly closedSeason: boolean;
}
/** What one official has beyond others. */
export interface Allowance {
  readonly extraMinutes: number;
  readonly extraStarts: number;
  /** Until when it is open for them, where that is longer. */
  readonly openUntil: Date | null;
}
interface SittingTimes {
  readonly number: number;
  readonly begunAt: Date;
  readonly endedAt: Date | null;
}

const minute = 60_000;

/** When the window ends for this official. */
export const closesFor = ({ closesAt }: TimeRules, { openUntil }: Allowance): Date =>
  openUntil !== null && openUntil > closesAt ? openUntil : closesAt;

export const minutesFor = ({ minutes }: TimeRules, { extraMinutes }: Allowance): number =>
  minutes + extraMinutes;

/**
 * The last moment of a sitting: its minutes, but not beyond the window's end; minutes given to one official go beyond it.
 */
export function endOfSitting(rules: TimeRules, allowance: Allowance, begunAt: Date): Date {
  const byMinutes = begunAt.getTime() + minutesFor(rules, allowance) * minute;
  const byWindow = closesFor(rules, allowance).getTime() + allowance.extraMinutes * minute;
  return new Date(Math.min(byMinutes, byWindow));
}

export type MayBegin =
  | { readonly may: true; readonly number: number; readonly minutes: number }
  | {
      readonly may: false;
      readonly because: 'not yet' | 'season closed' | 'over' | 'sitting' | 'used up' | 'wait';
      readonly until?: Date;
    };

/** Whether an official may begin a sitting now, and if not why. */
export function mayBegin(
  rules: TimeRules,
  allowance: Allowance,
  sittings: readonly SittingTimes[],
  now: Date,
): MayBegin {
  if (sittings.some(({ endedAt }) => endedAt === null)) return { may: false, because: 'sitting' };
  if (rules.closedSeason) return { may: false, because: 'season closed' };
  if (now < rules.opensAt) return { may: false, because: 'not yet', until: rules.opensAt };
  if (sittings.length >= rules.starts + allowance.extraStarts) return { may: false, because: 'used up' };
  const closes = closesFor(rules, allowance);
  if (now >= closes) return { may: false, because: 'over' };
  const last = Math.max(...sittings.map(({ endedAt }) => endedAt!.getTime()));
  const from = new Date(last + rules.hoursBetween * 60 * minute);
  if (sittings.length > 0 && now < from)
    return from < closes ? { may: false, because: 'wait', until: from } : { may: false, because: 'over' };
  const end = endOfSitting(rules, allowance, now);
  return {
    may: true,
    number: sittings.length + 1,
    minutes: Math.floor((end.getTime() - now.getTime()) / minute),
  };
}

/** One official who was told of a quiz: what they have beyond others, and what they sat. */
export interface Sat extends Allowance {
  readonly ended: number;
  /** When the sitting that goes on was begun. */
  readonly begunAt: Date | null;
}

/**
 * From when on answers are shown: whoever has no start left could else tell them to those who still sit. It is when the window
 * closes, or later as long as somebody may sit beyond it by what they were given.
 */
export function answersShownFrom(rules: TimeRules, told: readonly Sat[]): Date {
  const ends = told.flatMap((one) => {
    if (one.begunAt !== null) return [endOfSitting(rules, one, one.begunAt)];
    if (rules.closedSeason || one.ended >= rules.starts + one.extraStarts) return [];
    return [endOfSitting(rules, one, closesFor(rules, one))];
  });
  return new Date(Math.max(rules.closesAt.getTime(), ...ends.map((end) => end.getTime())));
}
