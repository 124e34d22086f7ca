import '../support/same-draws.ts';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { solve } from '../../server/planning/solver.ts';
import { chooseClips, mostWorth, withoutDear } from '../../server/training/choose-clips.ts';
import { clipModel } from '../../server/training/clip-model.ts';
import type { ClipProblem } from '../../server/training/clip-problem.ts';
import type { Lesson } from '../../server/training/lesson.ts';
import { seasonToTeach } from '../bench/choose-plays-instance.ts';
import { bestWorth, worthOf } from './every-choice.ts';

const lesson = (over: Partial<Lesson> & { id: string }): Lesson => ({
  playId: over.id,
  gameId: 'game',
  week: 1,
  crewId: 'crew',
  teamIds: ['home', 'visitors'],
  officialId: 'official',
  position: 'umpire',
  topic: 'topic',
  showing: 'good',
  seconds: 10,
  points: 1,
  ...over,
});

const some = <T>(...values: T[]) => fc.constantFrom(...values);
const smallProblem: fc.Arbitrary<ClipProblem> = fc.record({
  lessons: fc
    .array(
      fc.record({
        playId: some('a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 'i', 'j', 'k', 'l', 'm'),
        gameId: some('game'),
        week: fc.integer({ min: 1, max: 3 }),
        crewId: some(null, 'north', 'south', 'east'),
        teamIds: some<[string, string]>(['a', 'b'], ['c', 'd'], ['a', 'd'], ['b', 'c']),
        officialId: some('one', 'two', 'three', 'four'),
        position: some('umpire' as const, 'referee' as const, 'line judge' as const),
        topic: some('spots', 'signals', 'keys'),
        showing: some('good' as const, 'good' as const, 'bad' as const, 'to discuss' as const),
        seconds: fc.integer({ min: 8, max: 30 }),
        points: fc.integer({ min: 0, max: 9 }),
      }),
      { minLength: 4, maxLength: 11 },
    )
    .map((lessons) => lessons.map((one, at): Lesson => ({ ...one, id: `lesson ${at}` }))),
  locked: fc.constant([]),
  limits: fc.record({
    clips: fc.integer({ min: 2, max: 8 }),
    seconds: fc.integer({ min: 40, max: 200 }),
    mostBadOfOfficial: fc.integer({ min: 1, max: 2 }),
    topics: fc.integer({ min: 1, max: 3 }),
  }),
});

const chosenOf = ({ lessons }: ClipProblem, chosen: readonly string[]) =>
  lessons.filter(({ id }) => chosen.includes(id));

test('no choice at all is worth more, over every choice of small seasons', async () => {
  let withSomething = 0;
  await fc.assert(
    fc.asyncProperty(smallProblem, async (problem) => {
      const choice = await chooseClips(problem);
      expect(choice.proven).toBe(true);
      expect(worthOf(problem, chosenOf(problem, choice.chosen))).toBe(choice.worth);
      expect(choice.worth).toBe(bestWorth(problem));
      if (choice.chosen.length > 0) withSomething += 1;
    }),
    { numRuns: 150 },
  );
  // Most of them do have something to choose.
  expect(withSomething).toBeGreaterThan(75);
});

test('what is put aside for its cost takes nothing from the best choice', async () => {
  const { lessons, locked, limits } = seasonToTeach(250, 7);
  const problem = { lessons, locked, limits: { ...limits, clips: 12, seconds: 300, topics: 3 } };
  const choice = await chooseClips(problem, 60);
  const whole = await solve(clipModel(problem), { seconds: 60, absoluteGap: 0 });
  expect(choice).toMatchObject({ proven: true, worth: Math.round(-whole.objective), bound: choice.worth });
  expect(worthOf(problem, chosenOf(problem, choice.chosen))).toBe(choice.worth);
  expect(choice.chosen.length).toBeGreaterThan(6);
});

test('no choice is worth more than the bound, whatever is put aside and however early the search ends', async () => {
  let tighter = 0;
  await fc.assert(
    fc.asyncProperty(
      smallProblem,
      fc.integer({ min: 0, max: 4 }),
      some(0, 2, 1000),
      async (problem, margin, absoluteGap) => {
        const model = clipModel(problem);
        const limits = { seconds: 60, absoluteGap };
        const relaxed = await solve({ ...model, whole: model.whole.map(() => false) }, limits);
        const solution = await solve(withoutDear(model, problem, relaxed.reducedCosts, margin), limits);
        const bound = mostWorth(relaxed, solution, margin);
        expect(bound).toBeGreaterThanOrEqual(bestWorth(problem));
        if (bound < Math.floor(-relaxed.bound + 1e-6)) tighter += 1;
      },
    ),
    { numRuns: 60 },
  );
  expect(tighter).toBeGreaterThan(5);
});

test('what is locked stays, also where it breaks the rules, and the rest makes up for it', async () => {
  const bad = ['bad 1', 'bad 2', 'bad 3'].map((id) => lesson({ id, showing: 'bad', points: 0 }));
  const good = ['good 1', 'good 2', 'good 3', 'good 4'].map((id) => lesson({ id }));
  const limits = { clips: 10, seconds: 600, mostBadOfOfficial: 1, topics: 1 };
  const { chosen } = await chooseClips({
    lessons: [...bad, ...good],
    locked: ['bad 1', 'bad 2', 'bad 3'],
    limits,
  });
  expect(chosen).toEqual([...bad, ...good].map(({ id }) => id));
  // Locked and nothing else to be had.
  const alone = await chooseClips({ lessons: bad, locked: ['bad 2'], limits });
  expect(alone.chosen).toEqual(['bad 2']);
});

test('a problem that is not well formed is refused in one sentence', async () => {
  const limits = { clips: 1, seconds: 60, mostBadOfOfficial: 1, topics: 1 };
  const one = lesson({ id: 'one' });
  for (const [problem, sentence] of [
    [{ lessons: [one, one], locked: [], limits }, 'A lesson is there twice.'],
    [{ lessons: [one], locked: ['two'], limits }, 'A play that stays is not among those to choose from.'],
    [
      { lessons: [{ ...one, points: 0.5 }], locked: [], limits },
      'The lesson one has no whole number of seconds and points.',
    ],
    [
      { lessons: [one], locked: [], limits: { ...limits, clips: 1.5 } },
      'The limit "clips" must be a whole number, 0 or more.',
    ],
  ] as const)
    await expect(chooseClips(problem)).rejects.toThrow(sentence);
});
