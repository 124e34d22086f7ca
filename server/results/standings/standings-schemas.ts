import { z } from 'zod';
import { seasonModels } from '../../grading/season-choice.ts';

export const ofSeason = z.object({ seasonId: z.uuid() });
export const points = z.number();

export const adjustedSchema = z.object({
  grade: points,
  standardError: points,
  low: points.describe('Lower end of the 90% interval.'),
  high: points,
  reliability: z.number().describe('0 says nothing of the official, 1 all.'),
  parts: z.object({ observers: points, games: points, caution: points }).describe('raw + parts = adjusted'),
});

export const settingsSchema = z.object({
  minimumGames: z.int(),
  minimumOpportunities: z.int(),
  places: z.int().describe('Places for postseason in each position.'),
  fixedModel: z
    .enum(seasonModels)
    .optional()
    .describe("Fixed by the coordinator; left out, the season's own games decide."),
});
