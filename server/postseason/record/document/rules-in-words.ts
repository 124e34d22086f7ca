import type { SelectionRules, SelectionWeights } from '../../../selection/rules.ts';
import { number } from '../../../web/format.ts';

/** The rules of a selection, one sentence each; those that it does not have are named last. */
export function rulesInWords(rules: SelectionRules): string[] {
  const none: string[] = [];
  const said: string[] = ['Ranked in the position by released reports of the season.'];
  const rule = (has: boolean, name: string, sentence: string) =>
    has ? said.push(sentence) : none.push(name);
  const { minimumGames, minimumYears, rulesTest, recentWeeks, mostLately, mostOfOneCrew } = rules;
  rule(minimumGames !== null, 'games', `At least ${counted(minimumGames, 'game')} in the position.`);
  rule(minimumYears !== null, 'years of service', `At least ${counted(minimumYears, 'year')} of service.`);
  rule(rules.fitness, 'fitness test', 'A fitness test passed that still counts on the day of the game.');
  rule(rulesTest !== null, 'rules test', `At least ${rulesTest} percent in the rules test.`);
  rule(rules.standing, 'standing', 'In good standing.');
  rule(rules.availability, 'availability', 'Available after the season, and on the day of the game.');
  rule(
    mostLately !== null,
    'postseason games lately',
    `At most ${counted(mostLately, 'postseason game')} in the last three seasons: the three before this one, and what was played earlier in this one.`,
  );
  rule(rules.ties, 'declared tie', 'No declared tie with a team of the game.');
  rule(
    recentWeeks !== null,
    'recent game',
    `Worked no game of either team in the ${counted(recentWeeks, 'week')} before the game.`,
  );
  rule(
    rules.openInquiries,
    'open inquiry',
    'No open inquiry of a team of the game about a game that they worked.',
  );
  said.push(
    `At most ${counted(rules.mostGamesEach, 'game')} of this selection each, and never two on one day.`,
  );
  rule(
    mostOfOneCrew !== null,
    'most of one crew',
    `At most ${mostOfOneCrew} of one crew in a game, other than where a game keeps a crew whole.`,
  );
  said.push(
    rules.notKnown === 'leave out'
      ? 'Who is not known to meet a rule is not proposed by the program; people may choose them all the same.'
      : 'Who is not known to meet a rule may be proposed by the program; what is not known is shown.',
  );
  if (none.length > 0) said.push(`No rule of this selection: ${none.join(', ')}.`);
  return said;
}

/** What a proposal weighs, one sentence each. Points; fewer are better. */
export const weightsInWords = (weights: SelectionWeights): string[] => [
  `${points(weights.chance)} for no chance at all of one of the top places in the position, by the mean of both models; a half chance costs half of it, and one that is not known counts as none.`,
  `${points(weights.tier)} for each tier below the first of the position.`,
  `${points(weights.rotation)} for each postseason game of the last three seasons.`,
  `${points(weights.travel)} for each 100 miles from home to the game, one way and as the crow flies.`,
];

const points = (value: number) => `${number(value, Number.isInteger(value) ? 0 : 1)} points`;
const counted = (n: number | null, what: string) => `${n} ${what}${n === 1 ? '' : 's'}`;
