import { groupBy } from '../grading/group-by.ts';
import { type AndersenFound, andersenTest } from '../measurement/andersen-test.ts';
import { type Answers, analyseItems, type ItemFound, type TestFound } from '../measurement/item-analysis.ts';
import { type Measure, weightedMeasureOf } from '../measurement/person-measure.ts';
import { type Difficulty, fitRasch } from '../measurement/rasch.ts';
import type { Scored } from '../measurement/scored.ts';
import { type Counts, countingSitting } from './counting.ts';

/** A sitting that has ended. */
export interface TakenSitting {
  readonly officialId: string;
  readonly number: number;
  readonly answers: readonly TakenAnswer[];
}
export interface TakenAnswer {
  /** Question and version. */
  readonly item: string;
  /** How many choices it has, and the right one, from 0. */
  readonly choices: number;
  readonly answer: number;
  /** Null: asked and left. */
  readonly choice: number | null;
}

/** Fewer takers than this tell how many were right and nothing else (common practice, no source). */
export const fewestTakers = 10;
/** With fewer than about thirty, difficulties are often a whole logit off (Linacre 1994, from memory). */
export const roughBelow = 30;

export interface ItemResult extends Pick<ItemFound, 'itemRest' | 'pointBiserial'> {
  readonly item: string;
  readonly asked: number;
  readonly right: number;
  readonly left: number;
  /** How often each choice was taken, by all and by the third with the fewest right. */
  readonly taken: readonly number[];
  readonly takenByLowest: readonly number[];
  readonly difficulty: Difficulty | null;
  /** Why there is no difficulty. */
  readonly reason: string | null;
}

export interface PersonResult {
  readonly officialId: string;
  readonly sittings: number;
  /** The number of the sitting that counts. */
  readonly number: number;
  readonly right: number;
  readonly asked: number;
  /** What the measure rests on; other answers than those of the sitting that counts where the best of several does. */
  readonly told: Told;
  /** Null where the takers are too few, or none of the questions asked has a difficulty. */
  readonly measure: Measure | null;
}
export interface Told {
  /** True: of all sittings the first answer to each question. The luckiest sitting alone would tell too much, too surely. */
  readonly ofAll: boolean;
  readonly right: number;
  readonly asked: number;
}

export interface QuizResult {
  /** Officials with a sitting that has ended. */
  readonly takers: number;
  readonly counted: 'counts only' | 'rough' | 'whole';
  readonly items: readonly ItemResult[];
  readonly people: readonly PersonResult[];
  readonly reliability: TestFound['reliability'];
  /** Takers who were all asked the same questions: what correlations and reliability rest on. */
  readonly complete: number;
  readonly andersen: AndersenFound | null;
  /** Why there are no difficulties at all. */
  readonly reason: string | null;
}

const scoreOf = ({ answers }: Pick<TakenSitting, 'answers'>) => {
  const right = answers.filter(({ choice, answer }) => choice === answer).length;
  return { right, asked: answers.length };
};

/**
 * What a quiz tells. Questions are told from each official's first answer to them, so that no practice makes them easier;
 * an official's measure is of the sitting that counts, or of first answers too where the best of several counts. What was
 * asked and left is wrong.
 */
export function quizResult(sittings: readonly TakenSitting[], counts: Counts): QuizResult {
  const byOfficial = byOfficialOf(sittings);
  const firsts = [...byOfficial.values()].map((own) => own.reduce((a, b) => (b.number < a.number ? b : a)));
  const known = new Map(sittings.flatMap(({ answers }) => answers.map((one) => [one.item, one])));
  const keys = [...known.keys()];
  const enough = firsts.length >= fewestTakers;
  const answers = [...byOfficial.values()].flatMap((own) => firstAnswers(own, keys));
  const fit = enough
    ? fitRasch(answers.map(scored), keys.length)
    : { reason: `fewer than ${fewestTakers} officials have taken it` };
  const difficulties = 'reason' in fit ? keys.map(() => null) : fit.difficulties;
  const byKey = new Map(keys.map((key, at) => [key, difficulties[at] ?? null]));
  const found = analyseItems(
    answers.map(classical),
    keys.map((key) => known.get(key)!.choices),
  );
  const lowest = lowestThird(firsts);
  return {
    takers: firsts.length,
    counted: enough ? (firsts.length < roughBelow ? 'rough' : 'whole') : 'counts only',
    items: keys.map((item, at) => ({
      item,
      asked: found.items[at]!.answered,
      right: found.items[at]!.right,
      left: answers.filter((own) => own[at]?.choice === null).length,
      taken: found.items[at]!.taken,
      takenByLowest: takenBy(lowest, item, known.get(item)!.choices),
      itemRest: enough ? found.items[at]!.itemRest : null,
      pointBiserial: enough ? found.items[at]!.pointBiserial : null,
      difficulty: difficulties[at] ?? null,
      reason: 'reason' in fit ? null : fit.reasons[at]!,
    })),
    people: [...byOfficial].map(([officialId, own]) => personResult(officialId, own, counts, byKey)),
    reliability: enough ? found.reliability : null,
    complete: found.complete,
    andersen: enough && !('reason' in fit) ? andersenTest(answers.map(scored), keys.length) : null,
    reason: 'reason' in fit ? fit.reason : null,
  };
}

/** An official's sittings in order, without what they were asked before; sittings of nothing new fall out. */
function freshAnswers(own: readonly TakenSitting[]): TakenAnswer[][] {
  const before = new Set<string>();
  const sittings: TakenAnswer[][] = [];
  for (const one of [...own].sort((a, b) => a.number - b.number)) {
    const fresh = one.answers.filter(({ item }) => !before.has(item));
    for (const { item } of fresh) before.add(item);
    if (fresh.length > 0) sittings.push(fresh);
  }
  return sittings;
}

/** The same, question by question. */
function firstAnswers(own: readonly TakenSitting[], keys: readonly string[]) {
  return freshAnswers(own).map((fresh) => {
    const byItem = new Map(fresh.map((answer) => [answer.item, answer]));
    return keys.map((key) => byItem.get(key));
  });
}

const scored = (own: readonly (TakenAnswer | undefined)[]): Scored =>
  own.map((one) => (one === undefined ? null : one.choice === one.answer ? 1 : 0));

const classical = (own: readonly (TakenAnswer | undefined)[]): Answers =>
  own.map((one) =>
    one === undefined
      ? null
      : { chosen: one.choice === null ? [] : [one.choice], right: one.choice === one.answer },
  );

/** The sitting that counts of an official's own, and the answers that tell how able they are. */
function countedOf(own: readonly TakenSitting[], counts: Counts) {
  const { sitting, number, right, asked } = countingSitting(
    own.map((one) => ({ sitting: one, number: one.number, ...scoreOf(one) })),
    counts,
  )!;
  const ofAll = counts === 'best' && own.length > 1;
  const answers = ofAll ? freshAnswers(own).flat() : sitting.answers;
  return { number, right, asked, answers, told: { ofAll, ...scoreOf({ answers }) } };
}

/** What each official had right, without what takes difficulties to tell. */
export function quizCounts(
  sittings: readonly TakenSitting[],
  counts: Counts,
): Pick<PersonResult, 'officialId' | 'right' | 'asked' | 'told'>[] {
  return [...byOfficialOf(sittings)].map(([officialId, own]) => {
    const { right, asked, told } = countedOf(own, counts);
    return { officialId, right, asked, told };
  });
}

const byOfficialOf = (sittings: readonly TakenSitting[]) => groupBy(sittings, ({ officialId }) => officialId);

function personResult(
  officialId: string,
  own: readonly TakenSitting[],
  counts: Counts,
  difficulties: ReadonlyMap<string, Difficulty | null>,
): PersonResult {
  const { answers, ...counted } = countedOf(own, counts);
  const told = answers.flatMap((one) => {
    const difficulty = difficulties.get(one.item);
    return difficulty ? [{ difficulty, right: one.choice === one.answer }] : [];
  });
  const measure =
    told.length === 0
      ? null
      : weightedMeasureOf(
          told.map(({ difficulty }) => difficulty),
          told.filter((one) => one.right).length,
        );
  return { officialId, sittings: own.length, ...counted, measure };
}

/** The third of first sittings with the smallest share right; all who have as few as the last of them are in it. */
function lowestThird(firsts: readonly TakenSitting[]): TakenSitting[] {
  const share = (one: TakenSitting) => scoreOf(one).right / Math.max(1, scoreOf(one).asked);
  const inOrder = [...firsts].sort((a, b) => share(a) - share(b));
  const last = inOrder[Math.ceil(inOrder.length / 3) - 1];
  return last === undefined ? [] : inOrder.filter((one) => share(one) <= share(last));
}

function takenBy(sittings: readonly TakenSitting[], item: string, choices: number): number[] {
  const taken = new Array<number>(choices).fill(0);
  for (const { answers } of sittings) {
    const choice = answers.find((one) => one.item === item)?.choice;
    if (choice !== undefined && choice !== null && choice < choices) taken[choice]! += 1;
  }
  return taken;
}
