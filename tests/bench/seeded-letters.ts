import { positions } from '../../server/football/positions.ts';
import type { LetterData, LetterPlay } from '../../server/letters/letter-data.ts';

/** Invented letters, the same for the same count, about as long as those of a conference's season. */
export function seededLetters(count: number): LetterData[] {
  let state = 20261125;
  const draw = (below: number): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state % below;
  };
  const pick = <T>(list: readonly T[]): T => list[draw(list.length)]!;
  const name = () => `${pick(given)} ${pick(family)}`;
  const play = (finding: string): LetterPlay => ({
    game: `${pick(teams)} at ${pick(teams)}`,
    week: 1 + draw(11),
    quarter: String(1 + draw(4)),
    clock: `${draw(15)}:${String(draw(60)).padStart(2, '0')}`,
    film: `0${draw(3)}:${10 + draw(50)}:${10 + draw(50)}`,
    filmUrl: `https://film.example.org/${draw(100)}?t=${draw(9000)}`,
    finding,
    consequence: null,
    comment: Array.from({ length: 6 + draw(14) }, () => pick(words)).join(' '),
    number: 1 + draw(180),
    situation: `${pick(['1st and 10', '2nd and 7', '3rd and goal'])} at own ${1 + draw(49)}, run`,
    pageUrl: `https://crewmark.example.test/games/${draw(100)}/plays/${draw(9000)}/duties`,
  });
  return Array.from({ length: count }, (): LetterData => {
    const raw = 80 + draw(190) / 10;
    return {
      kind: 'end-of-season',
      edition: 1,
      changes: [],
      issuedOn: '2026-11-25',
      conference: { name: 'Harrow Valley Conference', coordinator: name(), policy: null },
      season: { name: '2026', throughWeek: 11, weeks: 11 },
      official: { name: name(), position: pick(positions), crew: `Crew ${pick(teams)}` },
      totals: { games: 9, opportunities: 1400, met: 1310, misses: 90, observers: 5, model: draw(9) },
      grade: {
        raw,
        adjusted: raw + 0.4,
        low: raw - 2.2,
        high: raw + 3,
        level: 90,
        reliability: 0.7,
        reason: null,
        calls: { raw: raw - 4, adjusted: raw - 3, low: raw - 9, high: raw + 3, reason: null },
        mechanics: { raw: raw + 1, adjusted: raw + 1.1, low: raw - 1.6, high: raw + 3.8, reason: null },
      },
      standing: {
        ranked: 9,
        median: 3,
        best: 1,
        worst: 6,
        lowerQuartile: 88,
        middle: 90,
        upperQuartile: 92.5,
        reason: null,
      },
      strengths: Array.from({ length: 2 }, () => ({
        duty: `Duty of ${pick(words)} and ${pick(words)}`,
        met: 100,
        opportunities: 104,
        rate: 100 / 104,
        peersRate: 0.9,
        plays: Array.from({ length: 2 }, () => play('model')),
      })),
      development: [],
      calls: { opportunities: 260, right: 255, wrong: 3, missed: 2, other: 0 },
      mechanics: { opportunities: 1140, done: 1055, missed: 85 },
      wentWell: Array.from({ length: 3 }, (_, place) => ({
        duty: `Duty of ${pick(words)} and ${pick(words)}`,
        certainty: place === 0 ? 'beyond chance' : 'may be chance',
        situation: null,
        met: 100,
        opportunities: 104,
        rate: 100 / 104,
        peersRate: 0.9,
      })),
      toWorkOn: Array.from({ length: 3 + draw(2) }, (_, place) => ({
        duty: `Duty of ${pick(words)} and ${pick(words)}`,
        category: 'Ending the play',
        certainty: place === 0 ? 'beyond chance' : 'may be chance',
        situation: null,
        pointsLost: 1.2 - place * 0.3,
        morePlays: 2,
        playsUrl: 'https://crewmark.example.test/my/patterns/plays?position=umpire&dutyKey=a',
        misses: 8,
        opportunities: 20,
        rate: 0.4,
        low: 0.22,
        high: 0.61,
        peersRate: 0.15,
        games: 4,
        guidance: Array.from({ length: 30 }, () => pick(words)).join(' '),
        raisedBefore: null,
        byGame: Array.from({ length: 6 }, (_, game) => ({
          label: `Week ${game + 1}`,
          opportunities: 4,
          misses: draw(3),
        })),
        plays: Array.from({ length: 6 }, () => play('missed')),
      })),
      otherPositions: [],
      modelPlays: Array.from({ length: 3 }, () => ({ ...play('model'), duty: `Duty of ${pick(words)}` })),
      weeks: Array.from({ length: 11 }, (_, week) => ({
        week: week + 1,
        grade: draw(6) === 0 ? null : 82 + draw(160) / 10,
        opportunities: 150,
        game: null,
      })),
      trend: 'No clear trend over the weeks.',
      coverage: null,
      rules: [],
      reply: {
        by: '2026-12-15',
        how: 'Open the play in your evaluation and answer there.',
        url: 'https://crewmark.example.test/my/marks',
      },
    };
  });
}

const given = [
  'Dorothea',
  'Ambrose',
  'Żaneta',
  'Νίκος',
  'Олег',
  'Perpetua',
  'Ignatius',
  'Solveig',
  'Tobias',
  'Marisol',
];
const family = [
  'Quillfeather',
  'Ketteringham',
  'Ångström',
  'Παπαδόπουλος',
  'Дьяченко',
  'Okonjo-Bright',
  'Brandywine',
];
const teams = [
  'Cedar Falls Tech',
  'Mount Arrow State',
  'Juniper',
  'Saltmarsh',
  'Old Mill College',
  'North Quarry',
];
const words =
  'late at the spot when ball was dead held ground along goal line signal clear loud feet square eyes on players after whistle moved too early crew conferred before ready pace steady'.split(
    ' ',
  );
