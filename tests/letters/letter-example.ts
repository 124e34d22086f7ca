import type { LetterData, LetterPlay } from '../../server/letters/letter-data.ts';

/** An invented official's season, with every part of a letter filled. */
export function exampleLetter(changes: Partial<LetterData> = {}): LetterData {
  const play = (index: number, comment: string | null, finding = 'missed'): LetterPlay => ({
    game: 'Cedar Falls Tech at Mount Arrow State',
    week: 1 + (index % 11),
    quarter: String(1 + (index % 4)),
    clock: `${index % 15}:${String((index * 7) % 60).padStart(2, '0')}`,
    film: `00:1${index % 10}:0${index % 7}`,
    filmUrl: `https://film.example.org/game/${index}?t=${index * 60}`,
    finding,
    consequence: null,
    comment,
  });
  const games = (counts: [week: number, opportunities: number, misses: number][]) =>
    counts.map(([week, opportunities, misses]) => ({ label: `Week ${week}`, opportunities, misses }));
  const plays = (count: number, from: number) =>
    Array.from({ length: count }, (_, index) =>
      play(
        index + from,
        index % 3 === 0 ? 'Looked away before the ball was dead.' : 'Whistle, but no signal.',
      ),
    );
  return {
    kind: 'end-of-season',
    edition: 1,
    changes: [],
    issuedOn: '2026-11-25',
    conference: {
      name: 'Harrow Valley Conference',
      coordinator: 'Marguerite Oyelaran',
      policy: 'Evaluations are one of several inputs to assignments.',
    },
    season: { name: '2026', throughWeek: 11, weeks: 11 },
    official: { name: 'Dorothea Quillfeather', position: 'line judge', crew: 'Crew Juniper' },
    otherPositions: [{ position: 'head linesman', games: 1, raw: 88.4 }],
    totals: { games: 9, opportunities: 1412, met: 1320, misses: 92, observers: 6, model: 7 },
    grade: {
      raw: 91.234,
      adjusted: 92.04,
      low: 89.71,
      high: 94.4,
      level: 90,
      reliability: 0.71,
      reason: null,
      calls: { raw: 84.61, adjusted: 86.02, low: 79.48, high: 92.56, reason: null },
      mechanics: { raw: 93.17, adjusted: 93.63, low: 91.2, high: 96.06, reason: null },
    },
    standing: {
      ranked: 9,
      median: 3,
      best: 1,
      worst: 6,
      lowerQuartile: 88.1,
      middle: 90.3,
      upperQuartile: 92.9,
      reason: null,
    },
    strengths: [
      {
        duty: 'Hold at the line until receivers are 10 to 12 yards down',
        met: 118,
        opportunities: 120,
        rate: 118 / 120,
        peersRate: 0.93,
        plays: [
          play(1, 'Held through the whole route and came off square.', 'model'),
          play(5, null, 'model'),
        ],
      },
    ],
    modelPlays: [
      {
        ...play(3, 'Dug in for the loose ball and stayed safe.', 'model'),
        duty: 'Find possession of a loose ball',
      },
    ],
    development: [
      {
        duty: 'Give the dead-ball signal when the play ends',
        category: 'Ending the play',
        misses: 8,
        opportunities: 20,
        rate: 0.4,
        low: 0.2188,
        high: 0.6134,
        peersRate: 0.15,
        games: 5,
        guidance:
          'See the ball dead, stop, then give the dead-ball signal with conviction, so that the play-clock operator can start. A whistle alone is not enough.',
        raisedBefore: null,
        byGame: games([
          [1, 3, 2],
          [2, 2, 0],
          [4, 4, 2],
          [5, 3, 1],
          [7, 4, 2],
          [9, 4, 1],
        ]),
        plays: plays(8, 2),
      },
      {
        duty: 'Stay on the goal line and give ground along it',
        category: 'Goal line',
        misses: 5,
        opportunities: 11,
        rate: 5 / 11,
        low: 0.2127,
        high: 0.7199,
        peersRate: null,
        games: 3,
        guidance: null,
        raisedBefore: 'It was named in your mid-season letter; since then 1 of 4.',
        byGame: games([
          [1, 3, 2],
          [2, 2, 0],
          [4, 6, 3],
        ]),
        plays: plays(5, 7),
      },
    ],
    weeks: [88.2, 91.5, null, 93.4, 90.2, 92.8, 95.1, null, 91, 90.9, 94.2].map((grade, index) => ({
      week: index + 1,
      grade,
      opportunities: grade === null ? 0 : 157,
      game: null,
    })),
    trend: 'No clear trend over the weeks.',
    coverage:
      'Your observers watched 92 % of your opportunities; what they did not watch counts neither for nor against you.',
    reply: {
      by: '2026-12-15',
      how: 'Open the play in your evaluation and answer there.',
      url: 'https://crewmark.example.test/my/marks',
    },
    ...changes,
  };
}

const nothing = { raw: null, adjusted: null, low: null, high: null, reason: 'nothing to grade yet.' };

/** The same official before any game was graded. */
export function emptyLetter(): LetterData {
  return exampleLetter({
    totals: { games: 0, opportunities: 0, met: 0, misses: 0, observers: 0, model: 0 },
    grade: {
      raw: null,
      adjusted: null,
      low: null,
      high: null,
      level: 90,
      reliability: null,
      reason: 'no graded game yet.',
      calls: nothing,
      mechanics: nothing,
    },
    standing: {
      ranked: 0,
      median: null,
      best: null,
      worst: null,
      lowerQuartile: null,
      middle: null,
      upperQuartile: null,
      reason: 'no graded game yet.',
    },
    otherPositions: [],
    strengths: [],
    modelPlays: [],
    development: [],
    weeks: [],
    trend: null,
    coverage: null,
  });
}
