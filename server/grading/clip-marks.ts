import { groupBy } from './group-by.ts';

/** What one observer found of one thing asked of one clip of a calibration, who could tell. */
export interface ClipMark {
  /** The calibration set. */
  set: string;
  clip: number;
  /** What was asked: a duty, or the call. */
  item: string;
  /** Of whom it was asked. */
  position: string;
  observer: string;
  missed: boolean;
}

/** The clips' factors, as a model's notes name them. */
export const clipFactors = { clip: 'clip', observerOnFilm: 'observer on film' } as const;

/** The level of rows that a factor does not touch: a clip's row has no official, a report's no clip. */
export const outside = '';

/** Of a row's factor: each thing asked of a clip is one that all who judged it share, however hard it was. */
export const clipLevel = ({ set, clip, item }: ClipMark): string => `${set}\n${clip}\n${item}`;

/** The fixed column of a set: marking its clips on film, blind, lies as far from marking games as it does. */
export const setColumn = (set: string): string => `clips ${set}`;

/** What was taken in of the marks of clips, or why nothing. */
export interface ClipsTaken {
  /** Observers whose marks were taken in, and how many of them reported on no game. */
  observers: number;
  withoutReport: number;
  clips: number;
  marks: number;
  /** How many groups of officials fewer there are than reports alone link. */
  joined: number;
  /** In plain words; null where marks were taken in. */
  reason: string | null;
}

export const noClips = (reason: string): ClipsTaken => ({
  observers: 0,
  withoutReport: 0,
  clips: 0,
  marks: 0,
  joined: 0,
  reason,
});

/**
 * The marks that tell how strict observers are beside each other: of what two or more could judge, in sets whose marks
 * are not all alike. Each set is one by itself, so that observers of different clips are not held against each other.
 */
export function tellingMarks(
  marks: readonly ClipMark[],
  reporting: ReadonlySet<string>,
): { marks: ClipMark[]; taken: ClipsTaken } {
  const shared = [...groupBy(marks, clipLevel).values()].filter((unit) => observersOf(unit).size > 1).flat();
  const telling = [...groupBy(shared, ({ set }) => set).values()]
    .filter((own) => own.some(({ missed }) => missed) && own.some(({ missed }) => !missed))
    .flat();
  const reason = whyNone(marks, telling, reporting);
  if (reason !== null) return { marks: [], taken: noClips(reason) };
  const observers = [...observersOf(telling)];
  return {
    marks: telling,
    taken: {
      observers: observers.length,
      withoutReport: observers.filter((observer) => !reporting.has(observer)).length,
      clips: new Set(telling.map(({ set, clip }) => `${set}\n${clip}`)).size,
      marks: telling.length,
      joined: 0,
      reason: null,
    },
  };
}

function whyNone(
  marks: readonly ClipMark[],
  telling: readonly ClipMark[],
  reporting: ReadonlySet<string>,
): string | null {
  if (marks.length === 0)
    return 'in no closed set of this season two observers handed in marks that count here';
  if (reporting.size < 2)
    return 'fewer than two observers reported on games, so there is nobody to hold beside another';
  if (marksApart(telling) === 0)
    return 'nothing on a clip was judged by two observers in different ways, so that nothing tells them apart';
  if ([...observersOf(telling)].every((observer) => !reporting.has(observer)))
    return 'nobody who marked clips reported on a game';
  return null;
}

const observersOf = (marks: readonly ClipMark[]) => new Set(marks.map(({ observer }) => observer));

/**
 * How much marks of the same thing differ: the mean over marks of p(1 − p), p the share that judged it missed, without the
 * bias of few observers. It is a mark's own variance, and what a shift of the log-odds moves a mark by on average
 * (McCullagh and Nelder 1989, *Generalized Linear Models*, 4.3).
 */
export function marksApart(marks: readonly ClipMark[]): number {
  let apart = 0;
  for (const unit of groupBy(marks, clipLevel).values()) {
    const share = unit.filter(({ missed }) => missed).length / unit.length;
    if (unit.length > 1) apart += (unit.length ** 2 / (unit.length - 1)) * share * (1 - share);
  }
  return marks.length > 0 ? apart / marks.length : 0;
}

/**
 * So many things judged by both link two observers as a game of one official does. A mark tells about a fifth of what a
 * marked miss in a game does, so that these are worth four misses: our own choice.
 */
export const fewestInCommon = 20;

/** Pairs of observers whom common clips link. */
export function linkedByClips(marks: readonly ClipMark[]): [string, string][] {
  const common = new Map<string, { pair: [string, string]; times: number }>();
  for (const unit of groupBy(marks, clipLevel).values()) {
    const judging = [...observersOf(unit)].sort();
    for (const [at, one] of judging.entries()) {
      for (const other of judging.slice(at + 1)) {
        const key = `${one}\n${other}`;
        const of = common.get(key) ?? { pair: [one, other], times: 0 };
        of.times += 1;
        common.set(key, of);
      }
    }
  }
  return [...common.values()].filter(({ times }) => times >= fewestInCommon).map(({ pair }) => pair);
}
