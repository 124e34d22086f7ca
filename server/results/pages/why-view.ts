import type { PersonName } from '../../accounts/people-names.ts';
import type { RankWay } from '../../grading/other-ways.ts';
import { number, percent, person } from '../../web/format.ts';
import type { LookedAt, WhyGame, WhyRank } from '../standings/why-rank.ts';
import { chanceText, gradeRange, rangeText } from './rank-words.ts';

/** What names people and games on a page of the coordinator's. */
interface WhyNames {
  people: ReadonlyMap<string, PersonName>;
  /** By id: visitor at home. */
  games: ReadonlyMap<string, string>;
}

/** Why a rank is what it is, in words and figures as pages and files write them. */
export function whyView(why: WhyRank, places: number, names: WhyNames) {
  const { position, line, ranked, ways, games, duties } = why;
  const { rank } = line;
  const others = ways.filter(({ stands }) => !stands);
  return {
    position,
    line,
    ranked,
    rankText: rank && `${rank.tied ? '=' : ''}${rank.place}`,
    likely: rank && rangeText(rank.low, rank.high),
    chance: chanceText(line.placeChance, ranked <= places),
    verdict: verdictOf(why),
    neighbours: why.neighbours.map(({ place, points }) =>
      points > 0
        ? `Rank ${place} is ${number(points, 2)} points above`
        : `rank ${place} is ${number(-points, 2)} points below`,
    ),
    changes: rank ? changesOf(why, others, names) : [],
    ways: ways.map((one) => wayRow(one, why, places, names)),
    graded: line.raw !== null,
    gamesTold: games.some(({ without }) => without !== null),
    games: games.map((game) => gameView(game, names)),
    lostInAll: line.raw === null ? null : 100 - line.raw,
    duties: duties
      .filter(({ pointsLost }) => pointsLost > 0)
      .map((duty) => ({ ...duty, chance: percent(duty.chance) })),
    doubt: doubtOf(why),
  };
}

const nameOf = (names: WhyNames, id: string) => person(names.people.get(id));

/** What each way of looking at a rank is called. */
export function wayInWords(way: RankWay, strictest: string | null, names: WhyNames): string {
  switch (way) {
    case 'linear':
      return 'Observers and games taken to add points';
    case 'counts':
      return 'Observers and games taken to multiply misses';
    case 'without the strictest':
      return strictest === null
        ? 'Without the strictest observer'
        : `Without the reports of ${nameOf(names, strictest)}, whose marks are the strictest`;
    case 'equally strict':
      return 'As though all observers were equally strict';
    case 'without the season before':
      return 'By this season alone';
  }
}

function verdictOf({ line, places, ways }: WhyRank): string {
  if (!places) return `Not ranked: ${line.unrankedReason}`;
  const looked = ways.filter(({ stands, line: found }) => !stands && found?.rank).length;
  if (looked === 0) return 'There is no other way to look at this place yet';
  return places.best === places.worst
    ? 'The place holds whichever way it is looked at'
    : `It moves between ${places.best} and ${places.worst}, by the way it is looked at`;
}

/** Each way and each game that makes another place, in words. */
function changesOf(
  { line, strictest, games }: WhyRank,
  others: readonly LookedAt[],
  names: WhyNames,
): string[] {
  const { place } = line.rank!;
  return [
    ...others.flatMap(({ way, line: found }) =>
      found?.rank && found.rank.place !== place
        ? [`${wayInWords(way, strictest, names)}: rank ${found.rank.place}`]
        : [],
    ),
    ...games.flatMap(({ without, ...game }) => {
      if (!without || without.place === place) return [];
      const then = without.place === null ? `not ranked, ${without.unrankedReason}` : `rank ${without.place}`;
      return [`Without week ${game.week}, ${names.games.get(game.gameId) ?? ''}: ${then}`];
    }),
  ];
}

function wayRow({ way, stands, line, reason }: LookedAt, why: WhyRank, places: number, names: WhyNames) {
  const rank = line?.rank ?? null;
  return {
    way: wayInWords(way, why.strictest, names),
    stands,
    reason: rank ? null : reason,
    place: rank && `${rank.tied ? '=' : ''}${rank.place}`,
    ranked: line?.ranked ?? 0,
    likely: rank ? rangeText(rank.low, rank.high) : '',
    chance: rank ? chanceText(line!.placeChance, line!.ranked <= places) : '',
    grade: line?.adjusted?.grade ?? null,
    interval: gradeRange(line?.adjusted),
  };
}

function gameView(
  { gameId, week, observerIds, grade, pointsLost, uncertainty, without }: WhyGame,
  names: WhyNames,
) {
  return {
    gameId,
    week,
    name: names.games.get(gameId) ?? '',
    observers: observerIds
      .map((id) => nameOf(names, id))
      .sort()
      .join(', '),
    grade,
    pointsLost,
    uncertainty: percent(uncertainty),
    without: without && number(without.grade, 2),
    place: without && (without.place === null ? `Not ranked: ${without.unrankedReason}` : `${without.place}`),
  };
}

/** Where the uncertainty comes from, largest first; the games' own parts stand beside each game. */
function doubtOf({ uncertainty, games }: WhyRank) {
  if (!uncertainty) return [];
  const inGames = games.reduce((sum, game) => sum + (game.uncertainty ?? 0), 0);
  return [
    {
      share: uncertainty.official,
      what: 'the official: a grade from few games is drawn toward the average of the position',
    },
    {
      share: inGames,
      what: 'these games: chance in their marks, one evening, how hard each game was',
    },
    { share: uncertainty.observers, what: 'how strict the observers were who watched' },
    ...(uncertainty.seasonBefore > 0
      ? [
          {
            share: uncertainty.seasonBefore,
            what: 'the season before: how sure it was of the official, and what may have changed since',
          },
        ]
      : []),
    {
      share: uncertainty.others,
      what: 'what is known only by way of other officials: the average of the position, the same games and observers',
    },
  ]
    .sort((a, b) => b.share - a.share)
    .map(({ share, what }) => ({ share: percent(share), what }));
}
