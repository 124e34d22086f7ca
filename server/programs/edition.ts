import { z } from 'zod';
import { codes } from '../football/codes.ts';
import type { PlayDrawing } from '../football/drawing/play-drawing.ts';
import { positions } from '../football/positions.ts';
import type { Cut } from '../timeline/cut.ts';
import { aspects } from '../training/aspects.ts';
import { showings } from '../training/lesson.ts';

/** A play of an edition: what is shown to everybody. No official, crew, team, game or number is in it. */
const editionPlaySchema = z.object({
  number: z.int(),
  topic: z.string(),
  aspect: z.enum(aspects),
  showing: z.enum(showings),
  position: z.enum(positions),
  duty: z
    .object({ title: z.string(), expected: z.string(), guidance: z.string(), source: z.string() })
    .nullable(),
  situation: z.string().describe('such as "3rd and 7 at own 34: pass"'),
  result: z.string().describe('what came of it, as it was logged; may be empty'),
  owed: z
    .array(z.object({ position: z.enum(positions), duties: z.array(z.string()) }))
    .describe('who owed what on it'),
  answer: z.string(),
  answeredOn: z.string().nullable(),
  ruleCited: z.string(),
  mechanicCited: z.string(),
  twoMechanics: z.boolean(),
  keys: z.array(z.string()).describe('none, one or two key points'),
  question: z.string(),
  choices: z.array(z.object({ text: z.string(), right: z.boolean() })),
  narration: z.string(),
  secondsBefore: z.int(),
  secondsAfter: z.int(),
  hasFilm: z.boolean(),
});
export type EditionPlay = z.output<typeof editionPlaySchema>;

export const editionContentSchema = z.object({
  conference: z.string(),
  title: z.string(),
  goal: z.string(),
  audience: z.string().describe('in words; a crew is not named'),
  code: z.enum(codes),
  minutes: z.int(),
  plays: z.array(editionPlaySchema),
});
export type EditionContent = z.output<typeof editionContentSchema>;

/** Where a play is from, for whoever cuts the film. */
export const sourceSchema = z.object({
  number: z.int(),
  playId: z.uuid(),
  gameId: z.uuid(),
  game: z.string(),
  week: z.int(),
  playNumber: z.int(),
  filmSeconds: z.number().nullable(),
  filmLink: z.string().nullable(),
});
export type EditionSource = z.output<typeof sourceSchema> & {
  /** The play as a picture, as it was logged then; editions of before have none. */
  readonly drawing?: PlayDrawing;
};

/** How a play of an edition was cut; those that nobody cut have none. */
export interface EditionCut {
  readonly number: number;
  readonly cut: Cut;
}

export interface Edition {
  readonly programId: string;
  readonly number: number;
  /** What was corrected; empty for the first. */
  readonly note: string;
  readonly releasedBy: string | null;
  readonly releasedAt: string;
  readonly content: EditionContent;
  readonly sources: readonly EditionSource[];
  readonly cuts: readonly EditionCut[];
}
