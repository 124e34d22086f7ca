import jstat from 'jstat';
import { fitRasch, type RaschFit } from './rasch.ts';
import type { Scored } from './scored.ts';

export type AndersenFound =
  | { readonly statistic: number; readonly degrees: number; readonly p: number; readonly items: number }
  | { readonly reason: string };

/**
 * Andersen's likelihood-ratio test (1973, "A goodness of fit test for the Rasch model", Psychometrika 38): are questions
 * equally hard for people who had more right than the mean and for the others? A small p says that they are not, so that
 * one measure does not hold for all. Over the items told in both halves.
 *
 * @param people all asked the same items
 */
export function andersenTest(people: readonly Scored[], items: number): AndersenFound {
  if (people.some((answers) => answers.includes(null)))
    return { reason: 'people were asked different questions' };
  const total = (answers: Scored) => answers.reduce<number>((sum, one) => sum + (one ?? 0), 0);
  const told = toldOf(fitRasch(people, items));
  let kept = told;
  // What is left out changes who had all right, so that halves are made anew until all items are told in both.
  for (;;) {
    if (kept.length < 2) return { reason: 'too few questions are told apart in both halves' };
    const narrow = people.map((answers) => kept.map((item) => answers[item]!));
    const telling = narrow.filter((answers) => ![0, kept.length].includes(total(answers)));
    const mean = telling.reduce((sum, answers) => sum + total(answers), 0) / telling.length;
    const halves = [
      telling.filter((answers) => total(answers) <= mean),
      telling.filter((answers) => total(answers) > mean),
    ].map((half) => fitRasch(half, kept.length));
    const both = kept.filter((_, at) => halves.every((fit) => toldOf(fit).includes(at)));
    if (both.length === kept.length) return compared(fitRasch(narrow, kept.length), halves, kept.length);
    kept = both;
  }
}

const toldOf = (fit: RaschFit | { reason: string }): number[] =>
  'reason' in fit ? [] : fit.difficulties.flatMap((one, item) => (one ? [item] : []));

function compared(
  whole: RaschFit | { reason: string },
  halves: readonly (RaschFit | { reason: string })[],
  items: number,
): AndersenFound {
  const logs = [whole, ...halves].map((fit) => ('reason' in fit ? Number.NaN : fit.logLikelihood));
  const statistic = 2 * (logs[1]! + logs[2]! - logs[0]!);
  const degrees = items - 1;
  return { statistic, degrees, p: 1 - jstat.jStat.chisquare.cdf(statistic, degrees), items };
}
