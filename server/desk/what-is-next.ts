/** What comes next in a season, for a desk on which nothing waits. */
export interface Next {
  readonly says: string;
  /** Of the first game to come, where there is one. */
  readonly kickoff?: Date;
  readonly timeZone?: string;
  readonly links: readonly { readonly label: string; readonly href: string }[];
}

interface Coming {
  readonly week: number;
  readonly games: number;
  readonly kickoff: Date;
  readonly timeZone: string;
}

interface Ahead {
  readonly seasonId: string;
  readonly closed: boolean;
  readonly games: number;
  /** The next week with games to come; null when none is. */
  readonly coming: Coming | null;
}

/** What comes next for the coordinator. */
export function whatIsNext({ seasonId, closed, games, coming }: Ahead): Next {
  const season = `/seasons/${seasonId}`;
  if (closed) {
    const links = [
      { label: 'Standings', href: '/standings' },
      { label: 'All seasons', href: '/seasons' },
    ];
    return { says: 'This season is closed. It can be read as before.', links };
  }
  if (games === 0) {
    const links = [
      { label: 'Add a game', href: `${season}/games/add` },
      { label: 'Import the schedule', href: '/import' },
    ];
    return { says: 'No games are entered yet. With the first one, its observer can be chosen.', links };
  }
  if (coming) {
    const { week, kickoff, timeZone } = coming;
    return {
      says: `Week ${week} comes next, with ${coming.games} ${coming.games === 1 ? 'game' : 'games'}. The first kickoff:`,
      kickoff,
      timeZone,
      links: [
        { label: 'Observers of the week', href: `/observers/weeks/${week}` },
        { label: 'Games of the week', href: `${season}?week=${week}` },
      ],
    };
  }
  return {
    says: 'All games of the season are played, and nothing is left to review. What remains: letters, and closing the season.',
    links: [
      { label: 'Letters', href: '/letters' },
      { label: 'Standings', href: '/standings' },
      { label: 'Close the season', href: '/seasons' },
    ],
  };
}
