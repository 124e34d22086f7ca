import { positions } from '../football/positions.ts';
import type { SeasonBookData } from './letter-data.ts';
import { type LetterOccasion, letterOfSeason } from './letter-of-season.ts';
import type { LetterSeason } from './season-source.ts';

const mostTopMisses = 15;

/** The coordinator's book of a season: everyone who worked a position in a released game, best first. */
export function seasonBookOf(
  season: LetterSeason,
  { issuedOn, coordinator }: Pick<LetterOccasion, 'issuedOn' | 'coordinator'>,
): SeasonBookData {
  const occasion: LetterOccasion = {
    kind: 'end-of-season',
    issuedOn,
    replyBy: null,
    answerPage: '',
    coordinator,
  };
  const { lastSeason } = season.standings;
  return {
    issuedOn,
    conference: {
      name: season.conference.name,
      coordinator,
      policy: season.conference.policyText.trim() || null,
    },
    season: {
      name: season.season.name,
      throughWeek: season.season.throughWeek,
      games: season.season.games,
    },
    level: 90,
    seasonBefore: lastSeason?.reason === null ? lastSeason.name : null,
    positions: positions.map((position) => ({
      position,
      officials: season.standings.lines
        .filter((standing) => standing.position === position)
        .map((standing) => {
          const letter = letterOfSeason(season, standing.personId, occasion, position);
          return {
            name: letter.official.name,
            crew: letter.official.crew,
            games: letter.totals.games,
            opportunities: letter.totals.opportunities,
            raw: letter.grade.raw,
            adjusted: letter.grade.adjusted,
            low: letter.grade.low,
            high: letter.grade.high,
            calls: letter.grade.calls,
            mechanics: letter.grade.mechanics,
            best: letter.standing.best,
            worst: letter.standing.worst,
            reason: letter.standing.reason,
            development: letter.development.map(({ duty, misses, opportunities, rate }) => ({
              duty,
              misses,
              opportunities,
              rate,
            })),
            weeks: letter.weeks.map(({ week, grade }) => ({ week, grade })),
          };
        }),
    })),
    topMisses: [...season.patterns.conference]
      .filter(({ misses }) => misses > 0)
      .sort((a, b) => b.cost - a.cost)
      .slice(0, mostTopMisses)
      .map(({ duty, misses, opportunities, missRate }) => ({
        duty: season.duties.get(duty)?.title ?? duty,
        category: season.duties.get(duty)?.category ?? '',
        misses,
        opportunities,
        rate: missRate,
      })),
  };
}
