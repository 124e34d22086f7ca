import { z } from 'zod';
import type { Position } from '../../football/positions.ts';
import { isAlternate, type Slot } from '../../selection/slots.ts';
import { typedDay, typedText } from '../../text/typed-text.ts';
import { frameSchema, slotSchema } from '../selection.ts';

/** Where an offer stands. It waits until its last day has ended in the conference's zone; then the coordinator decides. */
export const offerStandings = [
  'waiting',
  'overdue',
  'accepted',
  'declined',
  'withdrawn',
  // An alternate who was offered another place of the game instead.
  'moved up',
] as const;
export type OfferStanding = (typeof offerStandings)[number];

/** The place is somebody's, or may still become so: nobody else is offered it. */
export const holdsPlace = (standing: OfferStanding): boolean =>
  standing === 'waiting' || standing === 'overdue' || standing === 'accepted';

/** A place of a selection as it was offered to an official. Instants are ISO text. */
export interface Offer {
  readonly id: string;
  readonly gameId: string;
  readonly slot: Slot;
  readonly position: Position;
  readonly officialId: string;
  readonly offeredBy: string;
  readonly offeredAt: string;
  /** The last day to answer, YYYY-MM-DD, in the conference's zone. */
  readonly answerBy: string;
  readonly embargoUntil: string | null;
  readonly standing: OfferStanding;
  /** When it was answered or withdrawn. */
  readonly answeredAt: string | null;
  /** The official's; the coordinator's where it was withdrawn. */
  readonly reason: string;
  /** The coordinator who wrote the answer down, where the official gave it otherwise than on their own page. */
  readonly recordedBy: string | null;
  /** Who took the call, and when; empty where the official answered. */
  readonly recordedNote: string;
}

/** What an official is told of an offer of their own: of nobody else, but whom to ask. */
export interface OwnOffer extends Omit<Offer, 'gameId' | 'officialId' | 'offeredBy' | 'recordedBy'> {
  readonly seasonId: string;
  readonly game: string;
  readonly playedOn: string;
  /** On the clock of the place, HH:MM; empty while not known. */
  readonly kickoff: string;
  /** Empty while not known. */
  readonly home: string;
  readonly visitor: string;
  readonly where: string;
  /** Answers are still taken. */
  readonly open: boolean;
  /** Who offered it. */
  readonly ask: string;
  /** The name of the coordinator who wrote the answer down; null where it was given here. */
  readonly recorder: string | null;
}

/** `umpire`, or `alternate 1, as umpire`. */
export const placeWords = ({ slot, position }: Pick<Offer, 'slot' | 'position'>): string =>
  isAlternate(slot) ? `${slot}, as ${position}` : slot;

export const offerSchema = z.object({
  place: z
    .object({ gameId: z.uuid('choose a game'), slot: slotSchema })
    .nullable()
    .default(null)
    .describe('One chosen place; without it, every chosen place that was not offered yet.'),
  answerBy: frameSchema.shape.answerBy.describe(
    'The last day to answer, in the conference’s time zone; the selection’s where it is left out.',
  ),
  embargoUntil: frameSchema.shape.embargoUntil.describe(
    'Until when officials are asked to keep it to themselves, day and time in the conference’s time zone; the selection’s where it is left out.',
  ),
});
export type OfferTyped = z.output<typeof offerSchema>;

export const answerSchema = z.object({
  answer: z.enum(['accepted', 'declined'], 'choose to accept or to decline'),
  reason: typedText({ most: 2000 }).default('').describe('Why, if the official wants to say.'),
});
export type AnswerTyped = z.output<typeof answerSchema>;

export const withdrawalSchema = z.object({
  reason: typedText({ least: 1, most: 2000, tooShort: 'say why: the official reads it' }),
});

export const moreTimeSchema = z.object({ answerBy: typedDay('must be a day such as 2031-11-28') });

export const recordedSchema = z.object({
  answer: z.enum(['accepted', 'declined'], 'choose whether they accepted or declined'),
  note: typedText({ least: 1, most: 2000, tooShort: 'say who took the call, and when' }).describe(
    'Who took the call, and when. The official reads it.',
  ),
  reason: typedText({ most: 2000 }).default('').describe('What the official said, if anything.'),
});
export type RecordedTyped = z.output<typeof recordedSchema>;

export const moveSchema = z.object({
  gameId: z.uuid('choose a game'),
  slot: slotSchema.describe('The place that is free.'),
  alternate: slotSchema
    .refine(isAlternate, 'must be an alternate’s place, such as alternate 1')
    .describe('The place of the alternate who takes it.'),
  reason: typedText({ least: 1, most: 2000, tooShort: 'say why this alternate takes the place' }).describe(
    'Why this alternate, also of those ranked higher who are passed over. The record says it; the offer does not.',
  ),
  answerBy: frameSchema.shape.answerBy.describe(
    'The last day to answer, in the conference’s time zone; the selection’s where it is left out.',
  ),
});
export type MoveTyped = z.output<typeof moveSchema>;
