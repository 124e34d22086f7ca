import { z } from 'zod';
import { patternSettingsSchema } from './pattern-settings.ts';

/** What the API answers about patterns; pages use the same figures. */

const rate = z.object({ events: z.number(), opportunities: z.number() });
const interval = z.object({ low: z.number(), high: z.number() });
const trend = z.object({
  direction: z.enum(['rising', 'falling', 'no clear trend']),
  slope: z
    .number()
    .describe(
      'weeks from the mean week times misses above what is usual with the same observers, over the root of their variance',
    ),
  pValue: z.number().describe('two-sided, by permutation of whole games'),
  adjustedP: z.number().describe('adjusted after Benjamini and Hochberg over all trends of the list'),
  method: z.enum(['exact', 'drawn', 'too few']),
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
  peers: rate
    .nullable()
    .describe(
      "peers' own counts, without those found at the duty themselves; null where they are too few to be shown unnamed",
    ),
  peerCount: z.number().describe('others at the duty, those left out of the peers included'),
  peersLeftOut: z.number().describe('others found at the duty themselves, and so not among the peers'),
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

const officialPatternSchema = z.object({
  official: z.uuid(),
  position: z.string(),
  ...evidence,
  elsewhere: rate.extend({ expected: z.number() }).nullable(),
  onlyHere: z.boolean(),
  headline: z.boolean(),
});
const strengthSchema = z.object({
  official: z.uuid(),
  position: z.string(),
  ...evidence,
  kind: z.enum(['fewer misses', 'more model plays']),
  peersModel: rate.nullable(),
});
const crewPatternSchema = z.object({
  crew: z.uuid(),
  crewName: z.string(),
  ...evidence,
  officialsWithMisses: z.number(),
});
const conferenceDutySchema = z.object({
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
const weekPatternSchema = z.object({
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
const trendFamily = z.object({ comparisons: z.number(), found: z.number() });

export const seasonPatternsSchema = z.object({
  inputRevision: z.number(),
  settings: patternSettingsSchema,
  patterns: z.array(officialPatternSchema.extend({ officialName: z.string() })),
  strengths: z.array(strengthSchema.extend({ officialName: z.string() })),
  crews: z.array(crewPatternSchema),
  conference: z.array(conferenceDutySchema),
  weeks: z.array(weekPatternSchema),
  families: z
    .object({ officials: family, strengths: family, crews: family, weeks: family })
    .describe(
      'Each list controls itself: where nothing differs, at most the set share (falseDiscoveryRate) of seasons shows anything in it, and of what it shows at most that share is expected to be chance. No promise covers all lists together.',
    ),
  officialTrends: z
    .array(z.object({ official: z.uuid(), position: z.string(), trend }))
    .describe(
      'Whether all that an official misses, by weight, rises or falls: what a letter tells of the weeks',
    ),
  trendFamilies: z
    .object({ listed: trendFamily, conference: trendFamily, officials: trendFamily })
    .describe(
      'Trends are families of their own under the same promise: of rows listed, of the duties of the conference, of officials as a whole',
    ),
});

export const ownPatternsSchema = z.object({
  official: z.uuid(),
  inputRevision: z.number(),
  // How many colleagues were found is nothing to tell an official.
  patterns: z.array(officialPatternSchema.omit({ peersLeftOut: true })),
  strengths: z.array(strengthSchema.omit({ peersLeftOut: true })),
});
