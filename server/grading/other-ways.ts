import type { ClipMark } from './clip-marks.ts';
import { fitSeasonByCounts } from './count-model/season-by-counts.ts';
import type { OfficialShares, SharesOf } from './game-shares.ts';
import type { SeasonModel } from './season-choice.ts';
import { fitLinearSeason, type SeasonSettings, type SeasonStandings } from './season-model.ts';
import { type CountedGame, type GradedGame, usableRows } from './season-rows.ts';

/** Ways to look at a season's ranks, in the order they are shown. */
export const rankWays = [
  'linear',
  'counts',
  'without the strictest',
  'equally strict',
  'without the season before',
] as const;
export type RankWay = (typeof rankWays)[number];

export interface OtherWay {
  way: RankWay;
  /** null where the season cannot be looked at this way; why stands in `reason`. */
  standings: SeasonStandings | null;
  reason: string | null;
}

export interface OtherWays {
  ways: OtherWay[];
  /** Whose marks are strictest by the model in use; null where nobody's are told from the others'. */
  strictest: string | null;
  /** By the model in use, by official and position, in the order of its standings; none without a fit. */
  shares: { official: string; position: string; shares: OfficialShares }[];
}

const fits = { linear: fitLinearSeason, counts: fitSeasonByCounts };

/**
 * Grades a season in other ways than it is graded: by the other model; with the reports of the strictest observer left
 * out; as though all reports were one observer's, so that nothing is adjusted for severity. Each is a plain fit anew,
 * with the same seed of draws; games are counted and officials eligible as they are, but for those who have no report
 * left; and by itself, where it borrows strength from the season before. And says what each game does to its officials'
 * grades.
 *
 * @param used the model that the season's standings are by
 * @param clips marks of clips that severity is estimated from as well; null where the season goes by reports alone
 * @param lastSeason the reports of the season before, to borrow strength from; null where this one goes by itself
 * @throws RangeError as `gradeOf`.
 */
export function otherWaysToRank(
  rows: readonly GradedGame[],
  settings: SeasonSettings,
  games: readonly CountedGame[] = rows,
  used: SeasonModel = 'linear',
  clips: readonly ClipMark[] | null = null,
  lastSeason: readonly GradedGame[] | null = null,
): OtherWays {
  const fitted = {
    linear: fits.linear(rows, settings, clips, lastSeason),
    counts: fits.counts(rows, settings, clips, lastSeason),
  };
  const byModel = { linear: fitted.linear.standings(games), counts: fitted.counts.standings(games) };
  const { observers } = byModel[used];
  const strictest = strictestOf(observers);
  const oneWay = (
    way: RankWay,
    left: readonly GradedGame[],
    marks = clips,
    before = lastSeason,
  ): OtherWay => {
    // A report without a chance says nothing of an official, as if there were none.
    const officials = new Set(usableRows(left, settings).map(keyOf));
    const counted = games.filter((game) => officials.has(keyOf(game)));
    return { way, standings: fits[used](left, settings, marks, before).standings(counted), reason: null };
  };
  const notAlone = observers.length > 1 ? null : 'one observer wrote every report';
  return {
    ways: [
      { way: 'linear', standings: byModel.linear, reason: null },
      { way: 'counts', standings: byModel.counts, reason: null },
      strictest === null
        ? {
            way: 'without the strictest',
            standings: null,
            reason: notAlone ?? 'no observer is told to be stricter than the others',
          }
        : oneWay(
            'without the strictest',
            rows.filter(({ observer }) => observer !== strictest),
          ),
      notAlone === null
        ? oneWay(
            'equally strict',
            rows.map((row) => ({ ...row, observer: 'anybody' })),
            null,
          )
        : { way: 'equally strict', standings: null, reason: notAlone },
      ...(lastSeason ? [oneWay('without the season before', rows, clips, null)] : []),
    ],
    strictest,
    shares: sharesOf(fitted[used].shares(), byModel[used]),
  };
}

const keyOf = ({ official, position }: Pick<CountedGame, 'official' | 'position'>) =>
  `${official}\n${position}`;

/** Observers come strictest first. */
function strictestOf([first, ...others]: SeasonStandings['observers']): string | null {
  if (!first || others.length === 0 || first.effect === null || !(first.effect < -1e-9)) return null;
  return first.observer;
}

function sharesOf(sharesIn: SharesOf | null, { standings }: SeasonStandings): OtherWays['shares'] {
  if (!sharesIn) return [];
  return standings.flatMap(({ official, position, group }) => {
    const ranked = standings.filter(
      (other) => other.position === position && other.group === group && other.rank !== null,
    );
    const shares = sharesIn(
      position,
      official,
      ranked.map((other) => other.official),
    );
    return shares ? [{ official, position, shares }] : [];
  });
}
