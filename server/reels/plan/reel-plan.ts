import { z } from 'zod';
import { cutSchema, shotSchema } from '../../timeline/cut-schema.ts';

// What a reel is made of, frozen when it is asked for. No official, crew, team, game or number is in it.

const cardKinds = ['title', 'topic', 'question', 'answer', 'no film', 'topic end', 'closing'] as const;

/** A card as it is drawn: large and small text, from above. */
const cardSchema = z.object({
  kind: z.enum(cardKinds),
  /** Small, above the heading. */
  above: z.string(),
  heading: z.string(),
  lines: z.array(z.object({ text: z.string(), tone: z.enum(['plain', 'soft', 'point', 'choice']) })),
  /** Small, at the lower edge. */
  foot: z.string(),
});
export type ReelCard = z.output<typeof cardSchema>;

const segmentSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('card'),
    card: cardSchema,
    frames: z.int().min(1),
    /** A chapter begins with it. */
    chapter: z.string().nullable(),
    play: z.int().nullable().describe('the play that it belongs to'),
    stops: z.boolean().describe('a player stops at its end, for the question'),
  }),
  z.object({
    kind: z.literal('shot'),
    shot: shotSchema,
    chapter: z.string().nullable(),
    play: z.int(),
    stops: z.boolean(),
  }),
]);
export type ReelSegment = z.output<typeof segmentSchema>;

export const planSchema = z.object({
  title: z.string(),
  edition: z.int().nullable().describe('null: the program as it was, for the coordinator alone'),
  segments: z.array(segmentSchema).min(1),
  plays: z.array(
    z.object({
      number: z.int(),
      title: z.string(),
      narration: z.string(),
      voice: cutSchema.shape.voice,
      lacking: z.string().nullable().describe('why no film of it is shown'),
    }),
  ),
});
export type ReelPlan = z.output<typeof planSchema>;
