import type { EntryState } from '../entry/entry-state.ts';

/**
 * *Live*: in the stadium, plays bare and marks at once, and the page asks nothing more. *Later*: from film, where it
 * asks for what is still undecided.
 */
export const ways = ['live', 'later'] as const;
export type Way = (typeof ways)[number];

const hour = 3_600_000;
const remembered = (reportId: string) => `crewmark-way-${reportId}`;

/** As it was last chosen here; else live from an hour before kickoff until five hours after it. */
export function wayOf({ report, game }: Pick<EntryState, 'report' | 'game'>, now: number): Way {
  const chosen = localStorage.getItem(remembered(report.id));
  if (chosen === 'live' || chosen === 'later') return chosen;
  const since = now - Date.parse(game.kickoff);
  return since > -hour && since < 5 * hour ? 'live' : 'later';
}

export function rememberWay(reportId: string, way: Way): void {
  localStorage.setItem(remembered(reportId), way);
}
