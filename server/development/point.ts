import { z } from 'zod';
import { positions } from '../football/positions.ts';
import { situationCuts } from '../patterns/situation-cuts.ts';
import { exactText, typedDay, typedText } from '../text/typed-text.ts';

/** A duty that the coordinator works on with one official, and what happened with it so far. */
export interface DevelopmentPoint {
  id: string;
  seasonId: string;
  personId: string;
  position: string;
  dutyKey: string;
  /** Empty: the whole duty. */
  situationCut: string;
  state: 'open' | 'closed';
  /** In the order of their days. */
  steps: DevelopmentStep[];
}

export type StepKind = 'opened' | 'conversation' | 'letter' | 'note' | 'closed' | 'reopened';

export interface DevelopmentStep {
  id: string;
  kind: StepKind;
  /** YYYY-MM-DD. */
  happenedOn: string;
  text: string;
  /** The official sees the text too. */
  shared: boolean;
  /** Null: the program itself. */
  madeBy: string | null;
  /** When it was entered, UTC. */
  madeAt: string;
}

const day = typedDay('happenedOn must be a day such as 2026-10-05');
const text = typedText({ most: 4000, tooLong: 'text must be 4000 characters or fewer' }).default('');

export const newPointSchema = z.object({
  personId: z.uuid('personId must be the id of an official'),
  position: z.enum(positions, `position must be one of ${positions.join(', ')}`),
  dutyKey: exactText({ least: 1, most: 100, tooShort: 'dutyKey must name a duty of the rubric' }),
  situationCut: z
    .enum(['', ...situationCuts.map(({ key }) => key)], 'situationCut must be empty or one of the cuts')
    .default(''),
  text,
});
export type NewPoint = z.output<typeof newPointSchema>;

export const newStepSchema = z.object({
  kind: z.enum(['conversation', 'letter', 'note'], 'kind must be conversation, letter or note'),
  happenedOn: day,
  text,
  shared: z.boolean().default(false),
});
export type NewStep = z.output<typeof newStepSchema>;

export const turnSchema = z.object({ happenedOn: day, text });
export type Turn = z.output<typeof turnSchema>;

/** The first day the official was told: games after it count as after. Null when not yet. */
export function raisedOn(point: Pick<DevelopmentPoint, 'steps'>): string | null {
  const days = point.steps
    .filter((step) => step.kind === 'conversation' || step.kind === 'letter')
    .map((step) => step.happenedOn);
  return days.sort()[0] ?? null;
}

/** The day a closed point was closed, as entered last; null while it is open. */
export function closedOn(point: Pick<DevelopmentPoint, 'state' | 'steps'>): string | null {
  if (point.state !== 'closed') return null;
  const closings = point.steps.filter((step) => step.kind === 'closed');
  closings.sort((a, b) => (a.madeAt < b.madeAt ? -1 : 1));
  return closings.at(-1)?.happenedOn ?? null;
}
