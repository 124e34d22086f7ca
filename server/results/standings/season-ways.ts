import type { Position } from '../../football/positions.ts';
import type { OfficialShares } from '../../grading/game-shares.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { OtherWay, RankWay } from '../../grading/other-ways.ts';
import type { SeasonModel } from '../../grading/season-choice.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind } from '../kept-result.ts';
import { clipsOfKind } from './clip-rows.ts';
import { countedGames, type GradingMaterial, gradedGames, readGradingMaterial } from './grading-rows.ts';
import {
  gradingSettings,
  onTheScale,
  placeChances,
  type StandingLine,
  type StandingsSettings,
  standingsGrounds,
} from './season-standings.ts';

/** One official in one position, looked at in one way. */
export interface WayLine
  extends Pick<
    StandingLine,
    'personId' | 'position' | 'adjusted' | 'rank' | 'placeChance' | 'unrankedReason'
  > {
  /** How many are ranked with them. */
  ranked: number;
}

/** How a season's ranks look in other ways, and what each game does to its officials' grades. */
export interface SeasonWays {
  inputRevision: number;
  settings: StandingsSettings;
  /** The model that the standings are by. */
  used: SeasonModel;
  /** Observer whose marks are strictest; null where none is told from the others. */
  strictest: string | null;
  ways: { way: RankWay; reason: string | null; lines: WayLine[] }[];
  shares: { personId: string; position: Position; shares: OfficialShares }[];
}

/**
 * The other ways as a kept result: found anew when the standings are, by a raised method too. Raise the number that is
 * added when the finding of other ways changes.
 *
 * @param used the model that the standings are by
 */
export function waysKind(
  calculator: Pick<Calculator, 'otherWays'>,
  used: SeasonModel,
): ResultKind<StandingsSettings, GradingMaterial, SeasonWays> {
  return {
    name: `other ways to rank than ${used}`,
    method: 100 * standingsGrounds.method + 3,
    basis: standingsGrounds.basis,
    read: (client, { conferenceId, seasonId }) => readGradingMaterial(client, conferenceId, seasonId),
    compute: async ({ reports, games, clips, lastSeason }, { basis: settings, revision: inputRevision }) => {
      const { ways, strictest, shares } = await calculator.otherWays(
        gradedGames(reports, 'whole'),
        gradingSettings(reports, settings),
        countedGames(games, 'whole'),
        used,
        clipsOfKind(clips, 'whole'),
        lastSeason && gradedGames(lastSeason, 'whole'),
      );
      return {
        inputRevision,
        settings,
        used,
        strictest,
        ways: ways.map((way) => ({ way: way.way, reason: way.reason, lines: linesOf(way) })),
        shares: shares.map(({ official: personId, position, shares: own }) => ({
          personId,
          position: position as Position,
          shares: own,
        })),
      };
    },
  };
}

function linesOf({ standings }: OtherWay): WayLine[] {
  if (!standings) return [];
  const chanceOf = placeChances(standings.standings);
  const place = ({ position, group }: { position: string; group: number }) => `${group} ${position}`;
  const ranked = groupBy(
    standings.standings.filter(({ rank }) => rank !== null),
    place,
  );
  return standings.standings.map((standing) => ({
    personId: standing.official,
    position: standing.position as Position,
    adjusted: standing.adjusted && onTheScale(standing.adjusted),
    rank: standing.rank,
    placeChance: chanceOf(standing),
    unrankedReason: standing.unrankedReason,
    ranked: ranked.get(place(standing))?.length ?? 0,
  }));
}
