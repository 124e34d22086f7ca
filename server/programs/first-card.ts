import type { Position } from '../football/positions.ts';
import type { DutyName } from '../results/patterns/pattern-counts.ts';
import { usualAspect } from '../training/aspects.ts';
import type { Showing } from '../training/lesson.ts';
import { usualSeconds } from '../training/running-time.ts';
import type { Card } from './program.ts';

/** A play's card before anybody wrote on it. */
export function firstCard(
  lesson: { readonly dutyKey: string | null; readonly position: Position; readonly showing: Showing },
  duty: DutyName | undefined,
): Card {
  return {
    topic: duty?.title ?? '',
    aspect: usualAspect(duty?.category ?? ''),
    showing: lesson.showing,
    position: lesson.position,
    dutyKey: lesson.dutyKey,
    answer: '',
    answeredOn: null,
    ruleCited: '',
    mechanicCited: '',
    twoMechanics: false,
    firstKey: '',
    secondKey: '',
    question: '',
    choices: [],
    narration: '',
    secondsBefore: usualSeconds.before,
    secondsAfter: usualSeconds.after,
  };
}
