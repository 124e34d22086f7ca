import type { ExamplesByOperation } from './example.ts';

// Of a whole game: it names no situations, which would stand under `allOf`. openapi-typescript takes a list of that name
// for schemas wherever it stands, and breaks off.
const duty = {
  key: 'check-the-chains',
  title: 'Check the chains before the game',
  category: 'over the game',
  per: 'game',
  expected: 'measure the chains, and mark the fifth yard on them, before the game',
  positions: ['head linesman'],
  crewSizes: [5, 6, 7, 8],
  weight: 0.5,
  gradedAs: 'mechanics',
  guidance: 'With the crew of the chains, on the day, not from memory.',
};
const seen = 'f5c0de9a';
const weights = { none: 1, yards: 1.5, possession: 2.5, score: 4 };
const heavier = { ...weights, score: 5 };
const practices = {
  spotInTheMiddle: 'line judge',
  motion: 'the wing it leaves',
  pylonsInsideTheFive: 'deep wings',
  backJudgeOnFreeKicks: 'deep',
};

/** What officials owe. `seen` is the version that a change was made from, as the rubric was answered. */
export const rubric: ExamplesByOperation = {
  postSeasonsRubricPreview: { sent: { 'A duty of one’s own': { duty } } },
  postSeasonsRubricDuties: { sent: { 'A duty of one’s own': { duty, note: 'Asked for at the clinic.' } } },
  putSeasonsRubricDutiesByDutyKey: {
    sent: { 'It weighs twice as much': { duty: { ...duty, weight: 1 }, seen, note: 'Dear mistakes.' } },
  },
  deleteSeasonsRubricDutiesByDutyKey: { sent: { 'It was tried': { seen, note: 'Nobody could see it.' } } },
  putSeasonsRubricPlayingRules: {
    sent: { 'Two things worked differently': { code: 'college', practices, seen } },
  },
  putSeasonsRubricConsequenceWeights: {
    sent: { 'Points cost more': { weights: heavier, seen: weights, note: 'From week 6 on.' } },
  },
};
