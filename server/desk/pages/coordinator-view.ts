import type { SeasonWeek } from '../../schedule/season-weeks.ts';
import { ageInWords, timeLeftInWords } from '../age.ts';
import { countByKind, type Entry, type Kind, kinds } from '../entry.ts';
import type { WeekGame } from '../stores/week-games-store.ts';
import type { Next } from '../what-is-next.ts';

interface Shown {
  readonly seasonId: string;
  readonly now: Date;
  readonly waits: readonly Entry[];
  readonly look: readonly Entry[];
  readonly next: Next;
  readonly week: number | null;
  readonly days: SeasonWeek | undefined;
  readonly games: readonly WeekGame[];
  /** The kind asked for; anything else shows all. */
  readonly chosen: string;
  /** All of the list, not only its first page. */
  readonly all: boolean;
}

/** As many as are seen without scrolling for long. */
const firstFew = 15;

const urgent: ReadonlySet<Kind> = new Set(['declined', 'overdue', 'offer', 'free place', 'mail']);

/** The coordinator's part of the desk, ready for the template. */
export function coordinatorView({ now, waits, look, chosen, all, games, ...rest }: Shown) {
  const entries = waits.filter(({ kind }) => !(chosen in kinds) || kind === chosen);
  const shown = all ? entries : entries.slice(0, firstFew);
  return {
    ...rest,
    waiting: waits.length,
    kinds: countByKind(waits).map(({ kind, count }) => ({
      kind,
      words: kinds[kind],
      many: count,
      here: kind === chosen,
    })),
    everything: !(chosen in kinds),
    entries: shown.map((entry) => entryView(entry, now)),
    more: entries.length - shown.length,
    moreAddress: `/desk?${chosen in kinds ? `kind=${encodeURIComponent(chosen)}&` : ''}all=yes`,
    look: look.map((entry) => entryView(entry, now)),
    games: games.map(gameView),
  };
}

const entryView = (entry: Entry, now: Date) => ({
  ...entry,
  words: kinds[entry.kind],
  tone: urgent.has(entry.kind) ? 'bad' : '',
  age: ageInWords(entry.since, now),
  left: entry.before && (entry.before > now ? `kickoff ${timeLeftInWords(entry.before, now)}` : 'played'),
  acts: entry.acts.map((act, at) => ({
    ...act,
    first: at === 0,
    fields: 'fields' in act ? Object.entries(act.fields).map(([name, value]) => ({ name, value })) : [],
  })),
});

const stateTones: Record<string, string> = {
  released: 'good',
  accepted: 'good',
  returned: 'bad',
  filed: 'warn',
};

const gameView = (game: WeekGame) => ({
  ...game,
  lacking: Math.max(0, game.wanted - game.observers.length),
  observers: game.observers.map((one) => ({ ...one, offered: one.answer === 'offered' })),
  reports: game.reports.map((report) => ({ ...report, tone: stateTones[report.state] ?? '' })),
});
