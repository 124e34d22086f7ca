import { isBad, type Lesson } from './lesson.ts';

export type ShownPlay = Pick<
  Lesson,
  'playId' | 'week' | 'crewId' | 'teamIds' | 'officialId' | 'position' | 'showing'
>;

export interface Spread {
  /** Plays of each, most first. */
  readonly counts: readonly { readonly of: string; readonly plays: number; readonly bad: number }[];
  /**
   * Share of the plays that would have to come from others for an even spread over all there are to choose from: the
   * index of dissimilarity (Duncan, O. D. and Duncan, B. (1955), "A methodological analysis of segregation indexes",
   * American Sociological Review 20, 210-217) against equal shares. 0 where plays are as even as whole plays can be.
   */
  readonly uneven: number;
}

export interface Balance {
  readonly good: number;
  readonly bad: number;
  /** At least as many good plays as bad ones. */
  readonly enoughGood: boolean;
  readonly crews: Spread;
  readonly positions: Spread;
  readonly weeks: Spread;
  readonly teams: Spread;
  /** Officials in more bad plays than the most allowed. */
  readonly tooOftenBad: readonly { readonly officialId: string; readonly bad: number }[];
  /** Officials in a bad play and in no good one. */
  readonly onlyBad: readonly string[];
  /** Crews with more than a third of the bad plays, rounded up. */
  readonly crewsOverThird: readonly {
    readonly crewId: string;
    readonly bad: number;
    readonly most: number;
  }[];
  readonly secondsUsed: number;
  readonly secondsPlanned: number;
}

/** What there is to choose from: a spread over what a season does not have is not asked for. */
interface Available {
  readonly crews: number;
  readonly positions: number;
  readonly weeks: number;
  readonly teams: number;
}

/** The most bad plays that a crew may have, of all of them. */
const thirdOf = (bad: number): number => Math.ceil(bad / 3);

/** How fair a choice of plays is. @param mostBad in how many bad plays one official may be */
export function balanceOf(
  plays: readonly ShownPlay[],
  available: Available,
  mostBad: number,
  seconds: { readonly used: number; readonly planned: number },
): Balance {
  const bad = plays.filter(({ showing }) => isBad(showing)).length;
  const crews = spread(plays, ({ crewId }) => (crewId === null ? [] : [crewId]), available.crews);
  const officials = spread(plays, ({ officialId }) => [officialId], 0).counts;
  const most = thirdOf(bad);
  return {
    good: plays.length - bad,
    bad,
    enoughGood: plays.length - bad >= bad,
    crews,
    positions: spread(plays, ({ position }) => [position], available.positions),
    weeks: spread(plays, ({ week }) => [String(week)], available.weeks),
    teams: spread(plays, ({ teamIds }) => [...teamIds], available.teams),
    tooOftenBad: officials
      .filter((one) => one.bad > mostBad)
      .map((one) => ({ officialId: one.of, bad: one.bad })),
    onlyBad: officials.filter((one) => one.bad === one.plays).map((one) => one.of),
    crewsOverThird: crews.counts
      .filter((one) => one.bad > most)
      .map((one) => ({ crewId: one.of, bad: one.bad, most })),
    secondsUsed: seconds.used,
    secondsPlanned: seconds.planned,
  };
}

function spread(
  plays: readonly ShownPlay[],
  namesOf: (play: ShownPlay) => readonly string[],
  available: number,
): Spread {
  const counts = new Map<string, { of: string; plays: number; bad: number }>();
  let all = 0;
  for (const play of plays) {
    for (const of of namesOf(play)) {
      const count = counts.get(of) ?? { of, plays: 0, bad: 0 };
      count.plays += 1;
      if (isBad(play.showing)) count.bad += 1;
      counts.set(of, count);
      all += 1;
    }
  }
  const share = evenShare(all, Math.max(available, counts.size));
  const over = [...counts.values()].reduce((sum, one) => sum + Math.max(0, one.plays - share), 0);
  return {
    counts: [...counts.values()].sort((a, b) => b.plays - a.plays || (a.of < b.of ? -1 : 1)),
    uneven: all === 0 ? 0 : over / all,
  };
}

/** The most plays that a proposal takes of each of so many: a quarter over an even share, rounded up. */
export const mostOfEach = (plays: number, groups: number): number =>
  groups === 0 ? plays : Math.ceil((1.25 * plays) / groups);

/** How many plays each of so many has where they are spread evenly, in whole plays. */
const evenShare = (plays: number, groups: number): number =>
  groups === 0 ? plays : Math.ceil(plays / groups);
