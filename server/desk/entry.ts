/** Something that waits for a person, as their desk shows it. */
export interface Entry {
  readonly kind: Kind;
  /** What it is about: opens the page where it is done. */
  readonly title: string;
  readonly href: string;
  readonly says: string;
  /** How a duty that it names is done well. */
  readonly guidance?: string;
  /** Since when it waits. */
  readonly since: Date;
  /** What it must be done before, where there is such a moment. */
  readonly before?: Date;
  /** What can be done from the desk itself, the likeliest first. */
  readonly acts: readonly Act[];
}

/** A link, or a form of hidden fields that is sent. */
export type Act =
  | { readonly label: string; readonly href: string }
  | { readonly label: string; readonly post: string; readonly fields: Readonly<Record<string, string>> };

export const kinds = {
  review: 'to review',
  release: 'to release',
  ruling: 'reply to rule on',
  inquiry: 'inquiry of a team',
  offer: 'postseason offer not answered',
  'free place': 'postseason place free',
  declined: 'observer declined',
  place: 'open place',
  overdue: 'report overdue',
  returned: 'returned report',
  crew: 'crew not confirmed',
  'thin log': 'thin log',
  letters: 'letters to make again',
  point: 'development point',
  mail: 'mail that failed',
  webhook: 'webhook in trouble',
} as const;
export type Kind = keyof typeof kinds;

/** Oldest first; of the same moment, by title. */
export const oldestFirst = (entries: readonly Entry[]): Entry[] =>
  [...entries].sort(
    (one, other) => one.since.getTime() - other.since.getTime() || one.title.localeCompare(other.title),
  );

/** How many wait of each kind, in the order of `kinds`; kinds of which none waits are left out. */
export function countByKind(entries: readonly Entry[]): { kind: Kind; count: number }[] {
  return (Object.keys(kinds) as Kind[])
    .map((kind) => ({ kind, count: entries.filter((entry) => entry.kind === kind).length }))
    .filter(({ count }) => count > 0);
}
