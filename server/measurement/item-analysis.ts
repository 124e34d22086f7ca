import jstat from 'jstat';
import { type Interval, wilsonInterval } from '../patterns/wilson-interval.ts';

/** What one person chose, question by question, in the order of the questions; null where there is no answer. */
export type Answers = readonly (Answer | null)[];
interface Answer {
  /** Numbers of the choices taken, from 0. */
  readonly chosen: readonly number[];
  readonly right: boolean;
}

export interface ItemFound {
  readonly answered: number;
  readonly right: number;
  /** Share right with its 95 % interval; null where nobody answered. */
  readonly share: number | null;
  readonly interval: Interval;
  /**
   * Correlation of being right here with how many of the other questions were right (corrected point-biserial), over those
   * who answered all; null where it says nothing: all alike here or there, or fewer than three people.
   */
  readonly itemRest: number | null;
  /**
   * Correlation of being right here with how many were right in all, this question among them (point-biserial); over the
   * same people, null where `itemRest` would be for this question alone.
   */
  readonly pointBiserial: number | null;
  /** How often each choice was taken, by its number. */
  readonly taken: readonly number[];
}

export interface TestFound {
  readonly items: readonly ItemFound[];
  /** People with an answer to every question: what `itemRest` and `reliability` rest on. */
  readonly complete: number;
  /**
   * Kuder and Richardson's formula 20 (1937), which is coefficient alpha (Cronbach 1951) of right and wrong, with Feldt's
   * interval (1965); null where there are fewer than two questions or three people, or where all have as many right.
   */
  readonly reliability: { readonly value: number; readonly low: number; readonly high: number } | null;
}

const fewestPeople = 3;
const confidence = 0.95;

/**
 * Classical item analysis of a test's questions.
 *
 * @param people answers of each person; all as long as `choices`
 * @param choices how many choices each question has
 * @throws RangeError where somebody's answers are not as many as there are questions
 */
export function analyseItems(people: readonly Answers[], choices: readonly number[]): TestFound {
  for (const [person, answers] of people.entries())
    if (answers.length !== choices.length)
      throw new RangeError(`person ${person} has ${answers.length} answers to ${choices.length} questions`);
  const scores = people
    .filter((answers) => answers.every((answer) => answer !== null))
    .map((answers) => answers.map((answer) => Number(answer!.right)));
  return {
    items: choices.map((count, item) => itemFound(people, scores, item, count)),
    complete: scores.length,
    reliability: reliabilityOf(scores, choices.length),
  };
}

function itemFound(
  people: readonly Answers[],
  scores: readonly (readonly number[])[],
  item: number,
  choices: number,
): ItemFound {
  const given = people.flatMap((answers) => answers[item] ?? []);
  const right = given.filter((answer) => answer.right).length;
  const taken = new Array<number>(choices).fill(0);
  for (const { chosen } of given)
    for (const choice of new Set(chosen)) if (choice < choices) taken[choice]! += 1;
  return {
    answered: given.length,
    right,
    share: given.length > 0 ? right / given.length : null,
    interval: wilsonInterval(right, given.length, confidence),
    itemRest:
      scores.length < fewestPeople
        ? null
        : correlation(
            scores.map((one) => one[item]!),
            scores.map((one) => total(one) - one[item]!),
          ),
    pointBiserial:
      scores.length < fewestPeople
        ? null
        : correlation(
            scores.map((one) => one[item]!),
            scores.map(total),
          ),
    taken,
  };
}

function reliabilityOf(scores: readonly (readonly number[])[], items: number): TestFound['reliability'] {
  const people = scores.length;
  if (items < 2 || people < fewestPeople) return null;
  const whole = variance(scores.map(total));
  if (whole === 0) return null;
  const parts = Array.from({ length: items }, (_, item) => variance(scores.map((one) => one[item]!)));
  const value = (items / (items - 1)) * (1 - total(parts) / whole);
  const [first, second] = [people - 1, (people - 1) * (items - 1)];
  const quantile = (share: number) => jstat.jStat.centralF.inv(share, first, second);
  return {
    value,
    low: 1 - (1 - value) * quantile((1 + confidence) / 2),
    high: 1 - (1 - value) * quantile((1 - confidence) / 2),
  };
}

function correlation(a: readonly number[], b: readonly number[]): number | null {
  const [meanA, meanB] = [total(a) / a.length, total(b) / b.length];
  const [spreadA, spreadB] = [variance(a), variance(b)];
  if (spreadA === 0 || spreadB === 0) return null;
  const shared = a.reduce((sum, value, at) => sum + (value - meanA) * (b[at]! - meanB), 0) / (a.length - 1);
  return shared / Math.sqrt(spreadA * spreadB);
}

const total = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0);

function variance(values: readonly number[]): number {
  const mean = total(values) / values.length;
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
}

/** Fewer questions than this give a reliability that says little (common practice, no source). */
export const fewQuestions = 10;
/** Answers from which a question that half of them got wrong is worth a topic of its own (common practice, no source). */
const enoughAnswers = 8;

/** Half of those who answered, or more, were wrong: what to teach next. */
export const halfWrong = ({ answered, right }: ItemFound): boolean =>
  answered >= enoughAnswers && 2 * right <= answered;
