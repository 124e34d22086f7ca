import { z } from 'zod';
import { positions } from '../football/positions.ts';
import { typedDay, typedText } from '../text/typed-text.ts';

export const setSchema = z.object({
  title: typedText({ least: 1, most: 200, tooShort: 'give the set a title' }),
  dueOn: typedDay().nullable().default(null),
});
export type SetFrame = z.output<typeof setSchema>;

export const setStates = ['draft', 'open', 'closed'] as const;
type SetState = (typeof setStates)[number];

/** What an observer is asked of a clip: a duty that the position owes on the play, or what was called on it. */
export const itemSchema = z.object({
  key: z.string(),
  title: z.string(),
  expected: z.string(),
  gradedAs: z.enum(['mechanics', 'call']),
});
export type Item = z.output<typeof itemSchema>;

/** Asked of every clip on which the position owes no call of its own. */
export const callOfPlay: Item = {
  key: 'the-call',
  title: 'The call',
  expected: 'What was called, or rightly not called, on this play.',
  gradedAs: 'call',
};

export const clipFindings = ['met', 'not met', 'not seen'] as const;
export type ClipFinding = (typeof clipFindings)[number];

/** The findings as an observer reads them. */
export const findingLabels: Readonly<Record<Item['gradedAs'], Readonly<Record<ClipFinding, string>>>> = {
  mechanics: { met: 'Done', 'not met': 'Not done', 'not seen': 'Could not be seen' },
  call: { met: 'Right', 'not met': 'Wrong', 'not seen': 'Could not be seen' },
};

export const clipSchema = z.object({ playId: z.uuid(), position: z.enum(positions) });
export interface Clip extends z.output<typeof clipSchema> {
  readonly number: number;
  /** Empty until the set is opened. */
  readonly items: readonly Item[];
}

export interface SetObserver {
  readonly observerId: string;
  readonly remindedAt: string | null;
  readonly doneAt: string | null;
  /** Clips of which every item is marked. */
  readonly marked: number;
}

export interface CalibrationSet extends SetFrame {
  readonly id: string;
  readonly seasonId: string;
  readonly state: SetState;
  readonly openedAt: string | null;
  readonly closedAt: string | null;
  readonly clips: readonly Clip[];
  readonly observers: readonly SetObserver[];
}

/** The most clips of a set. */
export const mostClips = 60;
