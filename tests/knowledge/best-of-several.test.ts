// @module-tag rest
import { expect, test } from 'vitest';
import { type QuizResult, quizResult, type TakenSitting } from '../../server/knowledge/quiz-results.ts';
import { seasonFigure } from '../../server/knowledge/season-figure.ts';
import { weightedMeasure } from '../../server/measurement/person-measure.ts';

/**
 * Whether ranges hold where the best of several sittings counts, in worlds that are not Rasch's: questions differ in how
 * sharply they tell (a normal ogive), a tenth is guessed, and officials sit again only while they are not content.
 */
interface World {
  /** Questions in all, and how many each sitting asks; as many: the same ones again. */
  readonly pool: number;
  readonly asked: number;
  /** How often somebody who is asked again answers as before, whatever they know. */
  readonly asBefore: number;
}
const officials = 60;
const starts = 3;
const content = 0.85;
const rounds = 40;

function seeded(seed: number) {
  let state = seed;
  const uniform = () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

/** The normal distribution's area up to z (Abramowitz and Stegun 1964, 26.2.17). */
function area(z: number): number {
  const t = 1 / (1 + 0.231_641_9 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.319_381_53 + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
  return z > 0 ? 1 - tail : tail;
}

function quizOf(world: World, seed: number) {
  const { uniform, normal } = seeded(seed);
  const questions = Array.from({ length: world.pool }, () => ({
    hard: normal(),
    sharp: Math.exp(normal() / 4),
  }));
  const able = Array.from({ length: officials }, () => 0.4 + 0.8 * normal());
  const chance = (official: number, question: number) => {
    const { hard, sharp } = questions[question]!;
    return 0.1 + 0.9 * area(sharp * (able[official]! - hard));
  };
  const sittings: TakenSitting[] = [];
  for (let official = 0; official < officials; official += 1) {
    const order = questions.map((_, at) => ({ at, by: world.pool === world.asked ? at : uniform() }));
    order.sort((a, b) => a.by - b.by);
    const earlier = new Map<number, boolean>();
    for (let number = 1; number <= starts; number += 1) {
      const from = world.pool === world.asked ? 0 : (number - 1) * world.asked;
      const answers = order.slice(from, from + world.asked).map(({ at }) => {
        const again = earlier.get(at);
        const right =
          again !== undefined && uniform() < world.asBefore ? again : uniform() < chance(official, at);
        earlier.set(at, right);
        return { item: `q${at} 1`, choices: 4, answer: 0, choice: right ? 0 : 1 };
      });
      sittings.push({ officialId: String(official), number, answers });
      if (answers.filter(({ choice }) => choice === 0).length >= content * world.asked) break;
    }
  }
  return { sittings, chance };
}

/** The measure at which as many of all questions are right as truly would be, on the scale that was found. */
function trueMeasure(result: QuizResult, chance: (question: number) => number): number {
  const told = result.items.flatMap(({ item, difficulty }) =>
    difficulty ? [{ hard: difficulty.value, chance: chance(Number(item.slice(1).split(' ')[0])) }] : [],
  );
  const wanted = told.reduce((sum, one) => sum + one.chance, 0);
  let [low, high] = [-20, 20];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (told.reduce((sum, { hard }) => sum + 1 / (1 + Math.exp(hard - middle)), 0) < wanted) low = middle;
    else high = middle;
  }
  return low;
}

const ninety = 1.645;
const gradeError = 1.2;
const weight = 50;

test.each([
  ['others each time', { pool: 60, asked: 20, asBefore: 0 }],
  ['the same again, half as before', { pool: 20, asked: 20, asBefore: 0.5 }],
] as const)('%s: ranges hold for nine in ten of those who sat again, and lean little', (_, world) => {
  const seen = { again: 0, held: 0, bias: 0, biasOfBest: 0, figure: 0, figureOfBest: 0 };
  for (let round = 1; round <= rounds; round += 1) {
    const { sittings, chance } = quizOf(world, 1000 + round);
    const { normal } = seeded(9000 + round);
    const result = quizResult(sittings, 'best');
    const hard = new Map(result.items.map(({ item, difficulty }) => [item, difficulty]));
    for (const person of result.people.filter((one) => one.sittings > 1)) {
      const chances = (question: number) => chance(Number(person.officialId), question);
      const truth = trueMeasure(result, chances);
      const { value, se } = person.measure!;
      seen.again += 1;
      seen.held += Number(Math.abs(value - truth) <= ninety * se);
      seen.bias += value - truth;
      const { answers } = sittings.find(
        (one) => one.officialId === person.officialId && one.number === person.number,
      )!;
      const told = answers.filter(({ item }) => hard.get(item));
      const best = weightedMeasure(
        told.map(({ item }) => hard.get(item)!.value),
        told.filter(({ choice }) => choice === 0).length,
      );
      seen.biasOfBest += best.value - truth;

      const share = Array.from({ length: world.pool }, (_, at) => chances(at)).reduce((a, b) => a + b, 0);
      const trueGrade = 90 + 3 * normal();
      const grade = trueGrade + gradeError * normal();
      const range = { grade, low: grade - ninety * gradeError, high: grade + ninety * gradeError };
      const trueFigure = (trueGrade + (100 * share) / world.pool) / 2;
      const holds = (figure: ReturnType<typeof seasonFigure>) =>
        Number(figure!.low! <= trueFigure && trueFigure <= figure!.high!);
      const { right, asked } = person;
      seen.figure += holds(seasonFigure(range, { right, asked, told: person.told }, weight));
      seen.figureOfBest += holds(
        seasonFigure(range, { right, asked, told: { ofAll: false, right, asked } }, weight),
      );
    }
  }
  const of = (count: number) => count / seen.again;
  expect(seen.again).toBeGreaterThan(1500);
  // Over 120 rounds 90.5 ± 0.4 % and 92.5 %; so few rounds as here swing by 0.7.
  expect(of(seen.held)).toBeGreaterThan(0.893);
  expect(of(seen.held)).toBeLessThan(0.97);
  // Who sits the same again had bad luck the first time, which is all that tells: a little low, where the best is high.
  expect(Math.abs(of(seen.bias))).toBeLessThan(0.12);
  expect(of(seen.biasOfBest)).toBeGreaterThan(0.3);
  expect(of(seen.figure)).toBeGreaterThan(0.9);
  expect(of(seen.figure)).toBeLessThan(0.97);
  expect(of(seen.figureOfBest)).toBeLessThan(of(seen.figure) - 0.03);
});
