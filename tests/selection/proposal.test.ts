import { expect, test } from 'vitest';
import { type GradedIn, nothingKnown, type OfficialToSelect } from '../../server/selection/candidate.ts';
import type { ProposalProblem } from '../../server/selection/proposal-problem.ts';
import { propose } from '../../server/selection/propose.ts';
import { defaultRules, defaultWeights } from '../../server/selection/rules.ts';

const official = (id: string, over: Partial<OfficialToSelect> = {}): OfficialToSelect => ({
  id,
  active: true,
  facts: { ...nothingKnown, goodStanding: true, available: true },
  gamesHere: 0,
  home: null,
  crewIds: [],
  ties: [],
  workedTeam: new Map(),
  openInquiryOf: [],
  daysElsewhere: [],
  ...over,
});
const umpire = (officialId: string, place: number, chance: number): GradedIn => ({
  officialId,
  position: 'umpire',
  games: 5,
  grade: null,
  rank: { place, low: place, high: place },
  unrankedReason: null,
  chance,
  otherChance: null,
});
const problem = (over: Partial<ProposalProblem> = {}): ProposalProblem => ({
  games: [
    {
      id: 'g',
      playedOn: '2031-12-06',
      teams: [{ id: 't', name: 'Home' }],
      place: null,
      positions: ['umpire'],
      alternates: 1,
      wholeCrew: false,
    },
  ],
  officials: [official('a'), official('b')],
  graded: [umpire('a', 1, 0.9), umpire('b', 2, 0.4)],
  crews: [],
  rules: defaultRules,
  weights: defaultWeights,
  fixed: [],
  ...over,
});

test('the position takes the best, its alternate the next, each with the points they cost', async () => {
  const { choices, unfilled } = await propose(problem());
  expect(choices.map(({ slot, officialId, tier }) => ({ slot, officialId, tier }))).toEqual([
    { slot: 'umpire', officialId: 'a', tier: 1 },
    { slot: 'alternate 1', officialId: 'b', tier: 2 },
  ]);
  // 100 × (1 − 0.4) + 40 × 1
  expect(choices[1]?.cost.total).toBeCloseTo(100, 9);
  expect(unfilled).toEqual([]);
});

test('what people chose stays, though a rule speaks against it, and the rest is filled around it', async () => {
  const tied = official('a', { ties: ['t'] });
  const fixed = [{ gameId: 'g', slot: 'umpire' as const, position: 'umpire' as const, officialId: 'a' }];
  const { choices } = await propose(problem({ officials: [tied, official('b')], fixed }));
  expect(choices.map(({ slot, officialId }) => `${slot} ${officialId}`)).toEqual(['alternate 1 b']);
});

test('a place that cannot be filled says which rules took its candidates', async () => {
  const { choices, unfilled } = await propose(
    problem({
      officials: [
        official('a', { ties: ['t'] }),
        official('b', { facts: { ...nothingKnown, goodStanding: true } }),
      ],
    }),
  );
  expect(choices).toEqual([]);
  expect(unfilled[0]?.why).toBe(
    'Of 2 graded as umpire, nobody is left. Left out by availability: 1 (not known), declared tie: 1.',
  );
});

test('a position in which nobody is graded says so', async () => {
  const { unfilled } = await propose(problem({ graded: [] }));
  expect(unfilled.map(({ why }) => why)).toEqual([
    'Nobody is graded as umpire.',
    'Nobody is graded in any of its positions.',
  ]);
});

test('two games on one day share nobody, on two days only as often as the rules say', async () => {
  const [game] = problem().games;
  const two = (day: string, mostGamesEach: number) =>
    propose(
      problem({
        games: [
          { ...game!, alternates: 0 },
          { ...game!, id: 'h', playedOn: day, alternates: 0 },
        ],
        rules: { ...defaultRules, mostGamesEach },
      }),
    );
  const who = async (answer: ReturnType<typeof two>) =>
    (await answer).choices.map(({ officialId }) => officialId).sort();
  expect(await who(two('2031-12-06', 2))).toEqual(['a', 'b']);
  expect(await who(two('2031-12-13', 1))).toEqual(['a', 'b']);
  expect(await who(two('2031-12-13', 2))).toEqual(['a', 'a']);
});

test('positions come first: dearer ones could leave an alternate, so it is not said that no proposal fills more', async () => {
  const [game] = problem().games;
  const games = [
    { ...game!, id: 'g', teams: [{ id: 'other', name: 'Visitors' }], alternates: 0 },
    { ...game!, id: 'h' },
  ];
  const { choices, unfilled, best } = await propose(
    problem({
      games,
      officials: [official('a'), official('b', { ties: ['t'] }), official('c')],
      graded: [umpire('a', 1, 0.9), umpire('b', 3, 0.1), umpire('c', 2, 0.8)],
    }),
  );
  // With b in the first game all three places were filled.
  expect(choices.map(({ officialId }) => officialId).sort()).toEqual(['a', 'c']);
  expect(unfilled.map(({ gameId, slot }) => `${gameId} ${slot}`)).toEqual(['h alternate 1']);
  expect(best).toBe(true);
});
