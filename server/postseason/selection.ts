import { z } from 'zod';
import { crewSizes, type Position, positions } from '../football/positions.ts';
import {
  rulesSchema,
  type SelectionRules,
  type SelectionWeights,
  weightsSchema,
} from '../selection/rules.ts';
import { type Slot, slotNamed } from '../selection/slots.ts';
import { typedDay, typedText } from '../text/typed-text.ts';
import { numberOf } from '../web/whole-number.ts';

/** In the order in which a selection goes through them. */
export const selectionStates = ['preparing', 'sealed voting', 'opened', 'offered', 'closed'] as const;
export type SelectionState = (typeof selectionStates)[number];

export const frameSchema = z.object({
  title: typedText({ least: 1, most: 200, tooShort: 'give the selection a title' }),
  answerBy: typedDay()
    .nullable()
    .default(null)
    .describe('The last day to answer an offer, in the conference’s time zone.'),
  embargoUntil: z
    .string()
    .regex(/^(19|2[01])\d\d-\d\d-\d\dT\d\d:\d\d$/, 'must be a day and time such as 2031-11-30T18:00')
    .refine((moment) => !Number.isNaN(Date.parse(`${moment}:00Z`)), 'is no day and time of the calendar')
    .nullable()
    .default(null)
    .describe('Until when choices are kept to the committee: day and time in the conference’s time zone.'),
});
export type SelectionFrame = z.output<typeof frameSchema>;

export const changeSchema = frameSchema.extend({
  rules: rulesSchema,
  weights: weightsSchema,
  revision: numberOf('revision').describe(
    'The revision that was changed: refused when there is a newer one.',
  ),
});
export type SelectionChange = z.output<typeof changeSchema>;

const coordinate = (field: string, most: number) =>
  z
    .number(`${field} must be a number of degrees`)
    .min(-most, `${field} must be at least ${-most}`)
    .max(most, `${field} must be at most ${most}`)
    .nullable()
    .default(null);

export const gameSchema = z
  .object({
    name: typedText({ least: 1, most: 200, tooShort: 'give the game a name' }),
    playedOn: typedDay('must be the day of the game, such as 2031-12-06'),
    kickoff: z
      .string()
      .regex(/^(([01]\d|2[0-3]):[0-5]\d)?$/, 'must be a time such as 19:00, or empty')
      .default('')
      .describe('On the clock of the place; empty while it is not known.'),
    homeTeamId: z.uuid('must be a team of the conference, or empty').nullable().default(null),
    homeName: typedText({ most: 200 }).default('').describe('Where it is no team of the conference.'),
    visitorTeamId: z.uuid('must be a team of the conference, or empty').nullable().default(null),
    visitorName: typedText({ most: 200 }).default('').describe('Where it is no team of the conference.'),
    venueId: z.uuid('must be a venue of the conference, or empty').nullable().default(null),
    place: typedText({ most: 200 }).default('').describe('Where it is at no venue of the conference.'),
    latitude: coordinate('latitude', 90),
    longitude: coordinate('longitude', 180),
    crewSize: z
      .union(
        crewSizes.map((size) => z.literal(size)),
        'crewSize must be 4, 5, 6, 7 or 8',
      )
      .default(8),
    alternates: z
      .number('alternates must be a whole number')
      .int('alternates must be a whole number')
      .min(0, 'alternates must be at least 0')
      .max(8, 'alternates must be at most 8')
      .default(0),
    wholeCrew: z.boolean().default(false).describe('One crew of the season is kept together.'),
  })
  .superRefine((game, context) => {
    const wrong = (field: string, message: string) =>
      context.addIssue({ code: 'custom', path: [field], message });
    if ((game.latitude === null) !== (game.longitude === null))
      wrong(game.latitude === null ? 'latitude' : 'longitude', 'write both coordinates, or neither');
    if (game.homeTeamId !== null && game.homeTeamId === game.visitorTeamId)
      wrong('visitorTeamId', 'is the home team as well; choose the other team');
    if (game.alternates > game.crewSize)
      wrong('alternates', 'are one of each position at most: no more than the crew has');
  });
export type GameTyped = z.output<typeof gameSchema>;

export interface SelectionGame extends GameTyped {
  readonly id: string;
}

export const choiceSchema = z.object({
  officialId: z.uuid('choose an official'),
  position: z.enum(positions, 'choose the position in which they are graded'),
  reason: typedText({ most: 2000 }).default(''),
});
export type ChoiceTyped = z.output<typeof choiceSchema>;

export const slotSchema = z.string().transform((text, context): Slot => {
  const slot = slotNamed(text);
  if (slot !== null) return slot;
  context.addIssue({ code: 'custom', message: 'must be a position, or "alternate 1" to "alternate 8"' });
  return z.NEVER;
});

/** Who is to work which place, by a person's decision. */
export interface ChoiceMade {
  readonly gameId: string;
  readonly slot: Slot;
  readonly position: Position;
  readonly officialId: string;
  readonly reason: string;
  readonly chosenBy: string;
  readonly chosenAt: string;
}

export interface Selection extends SelectionFrame {
  readonly id: string;
  readonly seasonId: string;
  /** Nothing of it is changed any more, whatever state it was left in. */
  readonly ofClosedSeason: boolean;
  readonly state: SelectionState;
  readonly rules: SelectionRules;
  readonly weights: SelectionWeights;
  readonly revision: number;
  readonly proposedAt: string | null;
  readonly madeAt: string;
  readonly games: readonly SelectionGame[];
  readonly choices: readonly ChoiceMade[];
}

/** Whether votes and notes are open to all: voted on and opened, or decided without a committee. */
export const ballotsAreOpen = ({ state }: Pick<Selection, 'state'>): boolean =>
  state !== 'preparing' && state !== 'sealed voting';

/** Whether it is in this state and something can still be done: in a closed season nothing can. */
export const isAt = (
  { state, ofClosedSeason }: Pick<Selection, 'state' | 'ofClosedSeason'>,
  at: SelectionState,
): boolean => state === at && !ofClosedSeason;

/** Whether it is only read any more. */
export const isOver = ({ state, ofClosedSeason }: Pick<Selection, 'state' | 'ofClosedSeason'>): boolean =>
  state === 'closed' || ofClosedSeason;

/** What every page and record of a selection says. */
export const whatDecides =
  'A grade is one input to a human decision. The program proposes and people decide; the conference’s policy comes first.';
