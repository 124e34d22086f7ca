import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import { chanceShares } from '../../grading/chance-shares.ts';
import { gradeGame } from '../../grading/game-grade.ts';
import type { OfficialShares } from '../../grading/game-shares.ts';
import { groupsOf } from '../../grading/group-by.ts';
import type { RankWay } from '../../grading/other-ways.ts';
import { gradeSeason } from '../../grading/season-grade.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { dutyCountOf } from './duty-count.ts';
import { gradesOf } from './grades-of.ts';
import { readSeasonCounts, type SeasonCount } from './season-counts.ts';
import type { CurrentStandings, StandingLine, StandingsSettings } from './season-standings.ts';
import type { SeasonWays, WayLine } from './season-ways.ts';

/** A rank looked at in one way; `line` is null, with the reason, where it cannot be. */
export interface LookedAt {
  way: RankWay;
  /** Whether the standings are by it. */
  stands: boolean;
  line: WayLine | null;
  reason: string | null;
}

/** One game of an official: what it took off the grade as marked, and what it does to the adjusted grade. */
export interface WhyGame {
  gameId: string;
  week: number;
  /** Who watched: for the coordinator only. */
  observerIds: string[];
  grade: number | null;
  /** Points of the season grade; over all games they add up to 100 − grade. */
  pointsLost: number;
  /** Part of the adjusted grade's uncertainty, 0 to 1; null without one. */
  uncertainty: number | null;
  /** As it would be without it; null where nothing is left. */
  without: {
    grade: number;
    standardError: number;
    place: number | null;
    unrankedReason: string | null;
  } | null;
}

/** What would change one official's rank in one position. */
export interface WhyRank {
  position: Position;
  line: StandingLine;
  /** Others ranked in the same position and group: the next better and the next worse, by how many points. */
  neighbours: { place: number; points: number }[];
  ranked: number;
  ways: LookedAt[];
  /** Best and worst place in any way; null when unranked. */
  places: { best: number; worst: number } | null;
  /** Observer left out as the strictest. */
  strictest: string | null;
  games: WhyGame[];
  duties: {
    key: string;
    title: string;
    opportunities: number;
    misses: number;
    pointsLost: number;
    /** Part of the chance in the marks, 0 to 1. */
    chance: number;
  }[];
  /** Where the rest of the uncertainty comes from; null where nothing is told. */
  uncertainty: Omit<OfficialShares, 'games'> | null;
}

/** Why an official is where they are, for each position worked; released reports only. For the coordinator only. */
export async function whyRanks(
  db: Parameters<typeof readSeasonCounts>[0] & Queryable,
  { standings, ways }: { standings: CurrentStandings; ways: SeasonWays },
  { conferenceId, seasonId, personId }: { conferenceId: string; seasonId: string; personId: string },
): Promise<WhyRank[]> {
  const counts = await readSeasonCounts(db, conferenceId, seasonId, personId);
  const titles = await readDutyTitles(db, conferenceId, seasonId);
  return standings.lines
    .filter((line) => line.personId === personId)
    .map((line) => {
      const is = (other: { personId: string; position: Position }) =>
        other.personId === personId && other.position === line.position;
      const own = counts.filter((row) => row.position === line.position);
      const shares = ways.shares.find(is)?.shares ?? null;
      const grade = gradesOf(own).whole;
      const chance = chanceShares(own.map(dutyCountOf));
      const beside = standings.lines.filter(
        ({ position, group, rank }) => position === line.position && group === line.group && rank !== null,
      );
      const lookedAt = ways.ways.map(({ way, lines, reason }): LookedAt => {
        const found = lines.find(is) ?? null;
        return {
          way,
          stands: way === ways.used,
          line: found,
          reason: reason ?? (found ? found.unrankedReason : 'no report on them is left'),
        };
      });
      const places = [line.rank, ...lookedAt.map((one) => one.line?.rank)].flatMap((rank) =>
        rank ? [rank.place] : [],
      );
      return {
        position: line.position,
        line,
        ranked: beside.length,
        neighbours: neighboursOf(line, beside),
        ways: lookedAt,
        places: line.rank && { best: Math.min(...places), worst: Math.max(...places) },
        strictest: ways.strictest,
        games: gamesOf(own, shares, standings.settings),
        duties:
          grade.grade === null
            ? []
            : grade.contributions.map(({ duty, opportunities, met, pointsLost }) => ({
                key: duty,
                title: titles.get(duty) ?? duty,
                opportunities,
                misses: opportunities - met,
                pointsLost,
                chance: chance.get(duty) ?? 0,
              })),
        uncertainty: shares && {
          official: shares.official,
          observers: shares.observers,
          seasonBefore: shares.seasonBefore,
          others: shares.others,
        },
      };
    });
}

/** The next better and the next worse grade among those ranked, with their place. */
function neighboursOf({ adjusted, rank, personId }: StandingLine, beside: readonly StandingLine[]) {
  if (!rank || !adjusted) return [];
  const others = beside
    .filter((other) => other.personId !== personId)
    .map((other) => ({ place: other.rank!.place, points: other.adjusted!.grade - adjusted.grade }));
  const better = others.filter(({ place }) => place < rank.place).sort((a, b) => a.points - b.points);
  const worse = others.filter(({ place }) => place > rank.place).sort((a, b) => b.points - a.points);
  return [...better.slice(0, 1), ...worse.slice(0, 1)];
}

function gamesOf(
  own: readonly SeasonCount[],
  shares: OfficialShares | null,
  settings: StandingsSettings,
): WhyGame[] {
  const byGame = groupsOf(own, (row) => row.gameId);
  // Each game's loss by the arithmetic of duties, so that they add up to the same.
  const lost = gradeGame(own.map((row) => ({ ...dutyCountOf(row), category: undefined, duty: row.gameId })));
  const lostIn = new Map(
    lost.grade === null ? [] : lost.contributions.map(({ duty, pointsLost }) => [duty, pointsLost]),
  );
  return byGame
    .map((rows): WhyGame => {
      const { gameId, week, observerIds } = rows[0]!;
      const share = shares?.games.find(({ game }) => game === gameId);
      const rest = byGame.filter((others) => others !== rows);
      const { unrankedReason } = gradeSeason(
        rest.map((others) => ({ game: others[0]!.gameId, rows: others.map(dutyCountOf) })),
        settings,
      );
      return {
        gameId,
        week,
        observerIds,
        grade: gradesOf(rows).whole.grade,
        pointsLost: lostIn.get(gameId) ?? 0,
        uncertainty: share?.uncertainty ?? null,
        without: share?.without
          ? { ...share.without, place: unrankedReason === null ? share.without.place : null, unrankedReason }
          : null,
      };
    })
    .sort((a, b) => a.week - b.week);
}
