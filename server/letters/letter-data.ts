import { z } from 'zod';
import { positions } from '../football/positions.ts';
import { certainties } from '../results/standings/duties-that-matter.ts';

/**
 * Everything a letter may say about one official's season: plain data, no markup, no peers' names.
 * Grades are on 0 to 100, rates are fractions 0 to 1, dates are ISO (2026-11-25). A figure that cannot be
 * given is null and its `reason` says why; it is never 0 or 100 for want of data.
 */
const isoDate = z.iso.date();
const grade = z.number().min(0).max(100);
/** An estimate on the same scale; its interval may reach past the scale's end. */
const estimate = z.number();
const rate = z.number().min(0).max(1);
const count = z.int().min(0);

const letterPlaySchema = z.object({
  game: z.string().describe('Both teams, visitors first'),
  week: z.int(),
  quarter: z.string().describe('1, 2, 3, 4 or OT'),
  clock: z.string().nullable().describe('Game clock at the snap, 12:34'),
  film: z.string().nullable().describe('Film timecode, 01:02:03'),
  filmUrl: z.string().nullable().describe('Where the film can be watched from that timecode'),
  finding: z.string().describe('With what it cost, where that was judged'),
  consequence: z.string().nullable().default(null).describe('What a wrong or missed call cost, in words'),
  comment: z.string().nullable().describe('What was written; of two observers both, in one'),
  number: z.int().nullable().default(null).describe('Number of the play in its game'),
  situation: z.string().nullable().default(null).describe('Down, distance, spot and kind of play'),
  pageUrl: z.url().nullable().default(null).describe('The page of the play: its facts, who owed what, film'),
});
export type LetterPlay = z.infer<typeof letterPlaySchema>;

/** Null only in letters made before there were such grades. */
const kindOfGrade = z
  .object({
    raw: grade.nullable(),
    adjusted: estimate.nullable(),
    low: estimate.nullable(),
    high: estimate.nullable(),
    reason: z.string().nullable().describe('Why there is no grade'),
  })
  .nullable()
  .default(null);
const kindOfGameGrade = z
  .object({ value: grade.nullable(), reason: z.string().nullable() })
  .nullable()
  .default(null);

/** Null only in letters made before it was kept. */
const coverage = z
  .string()
  .nullable()
  .default(null)
  .describe('How much was watched, and what was left out because too little was logged');

const chancesByGame = z.array(z.object({ label: z.string(), opportunities: count, misses: count }));

const developmentPointSchema = z.object({
  duty: z.string(),
  category: z.string(),
  misses: count,
  opportunities: count,
  rate: rate.describe('Misses of opportunities'),
  low: rate.describe('Lower end of the rate interval'),
  high: rate.describe('Upper end of the rate interval'),
  peersRate: rate.nullable().describe('Miss rate of the others in the position'),
  games: count.describe('Games with at least one miss'),
  guidance: z.string().nullable().describe('What the rubric says about doing it well'),
  raisedBefore: z.string().nullable().describe('What was said about it earlier, and what changed since'),
  byGame: chancesByGame,
  plays: z.array(letterPlaySchema),
});
export type DevelopmentPoint = z.infer<typeof developmentPointSchema>;

const certainty = z.enum(certainties).describe('beyond chance, or may be chance');

const toWorkOnSchema = z.object({
  duty: z.string(),
  category: z.string(),
  certainty,
  situation: z.string().nullable().describe('Where it stands out: above all at the goal line'),
  misses: count,
  opportunities: count,
  rate: rate.describe('Misses of opportunities'),
  low: rate.describe('Lower end of the rate interval'),
  high: rate.describe('Upper end of the rate interval'),
  peersRate: rate.nullable().describe('Miss rate of the others in the position'),
  games: count.describe('Games with at least one miss'),
  pointsLost: z.number().describe('Points of 100 that its misses took off the grade'),
  guidance: z.string().nullable().describe('How to do it well: where, when, what to look at, why'),
  raisedBefore: z.string().nullable().describe('What was said about it earlier, and what changed since'),
  byGame: chancesByGame,
  plays: z.array(letterPlaySchema).describe('The six that teach most, in the order of the season'),
  morePlays: count.describe('Missed plays beyond those'),
  playsUrl: z.url().nullable().describe('The page with all of its plays'),
});
export type ToWorkOn = z.infer<typeof toWorkOnSchema>;

const wentWellSchema = z.object({
  duty: z.string(),
  certainty,
  situation: z.string().nullable().describe('Where it stands out: at the goal line'),
  met: count,
  opportunities: count,
  rate: rate.describe('Met of opportunities'),
  peersRate: rate.nullable().describe('Rate at which the others in the position met it'),
});

/** Null only in letters and reports made before they were counted. */
const callCounts = z
  .object({
    opportunities: count,
    right: count.describe('Right calls and right no-calls'),
    wrong: count.describe('Wrong calls'),
    missed: count.describe('Fouls not called'),
    other: count.describe('Not right, by marks that tell no longer which'),
  })
  .nullable()
  .default(null);
const mechanicsCounts = z
  .object({ opportunities: count, done: count, missed: count })
  .nullable()
  .default(null);

const strengthSchema = z.object({
  duty: z.string(),
  met: count,
  opportunities: count,
  rate: rate.describe('Met of opportunities'),
  peersRate: rate.nullable().describe('Rate at which the others in the position met it'),
  plays: z.array(letterPlaySchema),
});

const conferenceSchema = z.object({
  name: z.string(),
  coordinator: z.string(),
  policy: z.string().nullable().describe('The conference’s own words on how evaluations are used'),
});

const replySchema = z.object({
  by: isoDate.nullable().describe('The last day on which answers are taken'),
  how: z.string().describe('Where to write, and to whom'),
  url: z.url().nullable().default(null).describe('The page where one answers, to link to'),
});

export const letterKinds = ['mid-season', 'end-of-season'] as const;
export type LetterKind = (typeof letterKinds)[number];

/** Everything that has a template of its own. */
export const templateKinds = [...letterKinds, 'game-report', 'season-book'] as const;
export type TemplateKind = (typeof templateKinds)[number];

export const letterDataSchema = z.object({
  kind: z.enum(letterKinds),
  edition: z.int().min(1),
  changes: z.array(z.string()).describe('What differs from the edition before; empty in the first'),
  issuedOn: isoDate,
  conference: conferenceSchema,
  season: z.object({ name: z.string(), throughWeek: z.int().nullable(), weeks: z.int().nullable() }),
  official: z.object({
    name: z.string(),
    position: z.enum(positions),
    crew: z.string().nullable(),
  }),
  otherPositions: z.array(z.object({ position: z.enum(positions), games: count, raw: grade.nullable() })),
  totals: z.object({
    games: count,
    opportunities: count,
    met: count,
    misses: count,
    observers: count.describe('Different observers who graded those games'),
    model: count.describe('Plays an observer found worth showing to others'),
  }),
  grade: z.object({
    raw: grade.nullable().describe('As observed'),
    adjusted: estimate.nullable().describe('With observer severity and game effect taken out'),
    low: estimate.nullable(),
    high: estimate.nullable(),
    level: z.number().describe('Level of the interval in percent'),
    reliability: rate.nullable(),
    reason: z.string().nullable().describe('Why a figure is missing'),
    seasonBefore: z
      .string()
      .nullable()
      .optional()
      .describe('The season before, where the adjusted grade rests on it as well'),
    calls: kindOfGrade.describe('The same over calls only'),
    mechanics: kindOfGrade.describe('The same over mechanics only'),
  }),
  standing: z.object({
    ranked: count.describe('Officials ranked in the position'),
    median: z.number().nullable().describe('Median rank, 1 is highest'),
    best: z.number().nullable().describe('Rank interval, upper end'),
    worst: z.number().nullable().describe('Rank interval, lower end'),
    lowerQuartile: estimate.nullable(),
    middle: estimate.nullable().describe('Median adjusted grade in the position'),
    upperQuartile: estimate.nullable(),
    reason: z.string().nullable().describe('Why there is no rank'),
  }),
  strengths: z.array(strengthSchema),
  modelPlays: z
    .array(letterPlaySchema.extend({ duty: z.string() }))
    .describe('Plays an observer found worth showing to others'),
  development: z
    .array(developmentPointSchema)
    .describe('Only what repeats beyond chance; toWorkOn has something for everybody'),
  toWorkOn: z
    .array(toWorkOnSchema)
    .default([])
    .describe('The three duties that cost most, costliest first, and what else repeats beyond chance'),
  wentWell: z
    .array(wentWellSchema)
    .default([])
    .describe('Up to three duties, those that went well beyond chance first'),
  calls: callCounts.describe('Calls right, wrong and missed'),
  mechanics: mechanicsCounts.describe('Mechanics done and missed'),
  weeks: z.array(
    z.object({ week: z.int(), grade: grade.nullable(), opportunities: count, game: z.string().nullable() }),
  ),
  trend: z.string().nullable().describe('The weeks in one sentence'),
  coverage,
  rules: z
    .array(z.string())
    .default([])
    .describe('Quizzes on rules taken and clinics attended, a line each; they enter no grade'),
  reply: replySchema,
});
export type LetterData = z.infer<typeof letterDataSchema>;

/** One official, one released game, one page. */
export const gameReportDataSchema = z.object({
  edition: z.int().min(1),
  issuedOn: isoDate,
  conference: conferenceSchema,
  season: z.object({ name: z.string() }),
  official: z.object({ name: z.string(), position: z.enum(positions), crew: z.string().nullable() }),
  game: z.object({
    title: z.string(),
    week: z.int(),
    date: isoDate.nullable(),
    plays: count,
    observers: count,
    revision: z.int().min(1),
  }),
  grade: z.object({
    value: grade.nullable(),
    reason: z.string().nullable(),
    calls: kindOfGameGrade,
    mechanics: kindOfGameGrade,
  }),
  totals: z.object({ opportunities: count, met: count, misses: count, model: count, notCounted: count }),
  calls: callCounts.describe('Calls right, wrong and missed'),
  mechanics: mechanicsCounts.describe('Mechanics done and missed'),
  takeAlong: z
    .object({ duty: z.string(), pointsLost: z.number(), guidance: z.string() })
    .nullable()
    .default(null)
    .describe('The duty that cost most in this game, with how to do it well'),
  categories: z.array(
    z.object({
      category: z.string(),
      opportunities: count,
      met: count,
      lost: z.number().describe('Grade points lost in this category; they add up to 100 less the grade'),
    }),
  ),
  strengths: z.array(letterPlaySchema.extend({ duty: z.string() })),
  misses: z.array(letterPlaySchema.extend({ duty: z.string() })),
  uncounted: z
    .array(letterPlaySchema.extend({ duty: z.string(), why: z.string() }))
    .default([])
    .describe('Marks that are shown and do not count, each with the reason in a sentence'),
  coverage,
  missesNotShown: count.describe('Further misses that did not fit on the page'),
  reply: replySchema,
});
export type GameReportData = z.infer<typeof gameReportDataSchema>;

/** The coordinator's season book: every position, every official. */
export const seasonBookDataSchema = z.object({
  issuedOn: isoDate,
  conference: conferenceSchema,
  season: z.object({ name: z.string(), throughWeek: z.int().nullable(), games: count }),
  level: z.number().describe('Level of the intervals in percent'),
  seasonBefore: z
    .string()
    .nullable()
    .optional()
    .describe('The season before, where adjusted grades rest on it as well'),
  positions: z.array(
    z.object({
      position: z.enum(positions),
      officials: z.array(
        z.object({
          name: z.string(),
          crew: z.string().nullable(),
          games: count,
          opportunities: count,
          raw: grade.nullable(),
          adjusted: estimate.nullable(),
          low: estimate.nullable(),
          high: estimate.nullable(),
          calls: kindOfGrade,
          mechanics: kindOfGrade,
          best: z.number().nullable(),
          worst: z.number().nullable(),
          reason: z.string().nullable(),
          development: z.array(z.object({ duty: z.string(), misses: count, opportunities: count, rate })),
          weeks: z.array(z.object({ week: z.int(), grade: grade.nullable() })),
        }),
      ),
    }),
  ),
  topMisses: z.array(
    z.object({ duty: z.string(), category: z.string(), misses: count, opportunities: count, rate }),
  ),
});
export type SeasonBookData = z.infer<typeof seasonBookDataSchema>;
