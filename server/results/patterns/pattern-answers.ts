import { z } from 'zod';
import { patternSettingsSchema } from './pattern-settings.ts';

/** What the API answers about patterns; pages use the same figures. */

const rate = z.object({ events: z.number(), opportunities: z.number() });
const interval = z.object({ low: z.number(), high: z.number() });
const trend = z.object({
  direction: z.enum(['rising', 'falling', 'no clear trend']),
  s: z.number(),
  variance: z.number(),
  pValue: z.number(),
  method: z.string(),
});
const week = z.object({
  week: z.number(),
  game: z.uuid(),
  opportunities: z.number(),
  misses: z.number(),
  model: z.number(),
  expected: z.number().nullable(),
});

const evidence = {
  duty: z.string(),
  title: z.string(),
  situationCut: z.string().nullable().describe('null: the whole duty'),
  opportunities: z.number(),
  misses: z.number(),
  model: z.number(),
  missRate: z.number(),
  interval: interval.describe('Wilson interval of the miss rate'),
  games: z.number(),
  gamesWithMisses: z.number(),
  peers: rate.nullable().describe("peers' own counts; null where they are too few to be shown unnamed"),
  peerCount: z.number(),
  comparable: rate.describe('chances marked by observers who saw peers too'),
  expected: z.number().nullable().describe('misses of peers in the comparable chances'),
  excess: z.number().nullable(),
  weight: z.number(),
  consequence: z.number().nullable().describe('weight times excess misses'),
  pValue: z.number(),
  adjustedP: z.number().describe('adjusted after Benjamini and Hochberg over the whole family'),
  overdispersion: z.number(),
  weeks: z.array(week),
  trend,
};

export const officialPatternSchema = z.object({
  official: z.uuid(),
  position: z.string(),
  ...evidence,
  elsewhere: rate.extend({ expected: z.number() }).nullable(),
  onlyHere: z.boolean(),
  headline: z.boolean(),
});
export const strengthSchema = z.object({
  official: z.uuid(),
  position: z.string(),
  ...evidence,
  kind: z.enum(['fewer misses', 'more model plays']),
  peersModel: rate.nullable(),
});
export const crewPatternSchema = z.object({
  crew: z.uuid(),
  crewName: z.string(),
  ...evidence,
  officialsWithMisses: z.number(),
});
export const conferenceDutySchema = z.object({
  duty: z.string(),
  title: z.string(),
  weight: z.number(),
  opportunities: z.number(),
  misses: z.number(),
  missRate: z.number(),
  interval,
  cost: z.number().describe('weight times misses'),
  games: z.number(),
  officials: z.number(),
  officialsWithMisses: z.number(),
  weeks: z.array(z.object({ week: z.number(), opportunities: z.number(), misses: z.number() })),
  trend,
});
export const weekPatternSchema = z.object({
  week: z.number(),
  duty: z.string(),
  title: z.string(),
  opportunities: z.number(),
  misses: z.number(),
  expected: z.number(),
  weight: z.number(),
  consequence: z.number(),
  pValue: z.number(),
  adjustedP: z.number(),
});
const family = z.object({ comparisons: z.number(), found: z.number(), tooFew: z.number() });

export const seasonPatternsSchema = z.object({
  inputRevision: z.number(),
  settings: patternSettingsSchema,
  patterns: z.array(officialPatternSchema.extend({ officialName: z.string() })),
  strengths: z.array(strengthSchema.extend({ officialName: z.string() })),
  crews: z.array(crewPatternSchema),
  conference: z.array(conferenceDutySchema),
  weeks: z.array(weekPatternSchema),
  families: z.object({ officials: family, strengths: family, crews: family, weeks: family }),
  rowsOfSecondObservers: z.number(),
});

export const ownPatternsSchema = z.object({
  official: z.uuid(),
  inputRevision: z.number(),
  patterns: z.array(officialPatternSchema),
  strengths: z.array(strengthSchema),
});
