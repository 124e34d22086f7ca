import { z } from 'zod';

const whole = (field: string, least: number, most: number) =>
  z
    .number(`${field} must be a whole number, or empty for no such rule`)
    .int(`${field} must be a whole number`)
    .min(least, `${field} must be at least ${least}`)
    .max(most, `${field} must be at most ${most}`);
const points = (field: string, most: number) =>
  z
    .number(`${field} must be a number`)
    .min(0, `${field} must be at least 0`)
    .max(most, `${field} must be at most ${most}`);

/** What a selection asks of officials. Null, or false, is no such rule. What the conference's policy says comes first. */
export const rulesSchema = z.object({
  minimumGames: whole('The least games in the position', 0, 50)
    .nullable()
    .default(3)
    .describe('Games in the position, of released reports, of this season.'),
  minimumYears: whole('The least years of service', 0, 60).nullable().default(null),
  fitness: z
    .boolean()
    .default(false)
    .describe('A fitness test passed that still counts on the day of the game.'),
  rulesTest: points('The least score of the rules test', 100)
    .nullable()
    .default(null)
    .describe('In percent.'),
  standing: z.boolean().default(true).describe('In good standing.'),
  availability: z.boolean().default(true).describe('Available after the season, and on the day of the game.'),
  ties: z.boolean().default(true).describe('No declared tie with a team of the game.'),
  recentWeeks: whole('The weeks without a game of either team', 1, 30)
    .nullable()
    .default(3)
    .describe(
      'Worked no game of either team in so many weeks before the game, the first day of them included.',
    ),
  openInquiries: z
    .boolean()
    .default(true)
    .describe('No open inquiry of a team of the game about a game that they worked.'),
  mostLately: whole('The most postseason games lately', 0, 30)
    .nullable()
    .default(null)
    .describe(
      'Postseason games of the last three seasons, and of this one before the game, that leave somebody out when there are more.',
    ),
  mostGamesEach: whole('The most games for one official', 1, 20).default(1),
  mostOfOneCrew: whole('The most of one crew in a game', 1, 8).nullable().default(null),
  notKnown: z
    .enum(['leave out', 'take in'], 'choose whether who is not known to meet a rule is left out or taken in')
    .default('leave out')
    .describe('Whether the program proposes somebody of whom it is not known that a rule is met.'),
});
export type SelectionRules = z.output<typeof rulesSchema>;

/** What the proposal weighs, in points: fewer are better. Shown with every proposal. */
export const weightsSchema = z.object({
  chance: points('The weight of the chance', 1000)
    .default(100)
    .describe('For no chance at all of one of the top places; a half chance costs half of it.'),
  tier: points('The weight of a tier', 1000)
    .default(40)
    .describe('For each tier below the first of the position.'),
  rotation: points('The weight of a postseason game lately', 1000)
    .default(10)
    .describe('For each postseason game that they worked in the last three seasons.'),
  travel: points('The weight of 100 miles', 1000)
    .default(2)
    .describe('For each 100 miles from home to the game, one way and as the crow flies.'),
});
export type SelectionWeights = z.output<typeof weightsSchema>;

export const defaultRules: SelectionRules = rulesSchema.parse({});
export const defaultWeights: SelectionWeights = weightsSchema.parse({});
