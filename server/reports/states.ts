/** Where a report stands. A report corrected after release stays released, with a new revision. */
export const reportStates = ['draft', 'filed', 'returned', 'accepted', 'released'] as const;
export type ReportState = (typeof reportStates)[number];

export const reportSteps = ['file', 'return', 'accept', 'release', 'revise'] as const;
type ReportStep = (typeof reportSteps)[number];

type Transition = {
  from: readonly ReportState[];
  to: ReportState;
  by: 'observer' | 'coordinator';
  reason: boolean;
};

const transitions: Readonly<Record<ReportStep, Transition>> = {
  file: { from: ['draft', 'returned'], to: 'filed', by: 'observer', reason: false },
  return: { from: ['filed', 'accepted'], to: 'returned', by: 'coordinator', reason: true },
  accept: { from: ['filed'], to: 'accepted', by: 'coordinator', reason: false },
  release: { from: ['accepted'], to: 'released', by: 'coordinator', reason: false },
  revise: { from: ['released'], to: 'released', by: 'coordinator', reason: true },
};

/** A step that the report's state, or a missing reason, does not allow. The message is for the person who asked. */
export class StepRefused extends Error {
  override name = 'StepRefused';
}

/** The longest comment on a mark, in characters. */
export const longestComment = 4000;
/** The longest reason that is kept, in characters. */
export const longestReason = 2000;
const tooLongReason = `The reason must have at most ${longestReason} characters.`;

/** The reason without blanks around it. @throws StepRefused when it is missing or too long. */
export function reasonFor(what: string, reason: string): string {
  if (reason.trim() === '') throw new StepRefused(`Give the reason for the ${what}.`);
  if (reason.length > longestReason) throw new StepRefused(tooLongReason);
  return reason.trim();
}

const doing: Readonly<Record<ReportStep, string>> = {
  file: 'filed',
  return: 'returned',
  accept: 'accepted',
  release: 'released',
  revise: 'revised',
};

/**
 * The state after a step.
 * @throws StepRefused naming the state it is in and those it would have to be in, or the missing reason.
 */
export function stateAfter(state: ReportState, step: ReportStep, reason?: string): ReportState {
  const transition = transitions[step];
  if (!transition.from.includes(state)) {
    throw new StepRefused(
      `This report is ${state}; only one that is ${transition.from.join(' or ')} can be ${doing[step]}.`,
    );
  }
  if (reason && reason.length > longestReason) throw new StepRefused(tooLongReason);
  if (transition.reason && !reason?.trim()) {
    throw new StepRefused(`Give the reason why the report is ${doing[step]}.`);
  }
  return transition.to;
}

/** The steps open to a role from a state, in the order they come in. */
export function stepsFrom(state: ReportState, role: 'observer' | 'coordinator'): ReportStep[] {
  return reportSteps.filter(
    (step) => transitions[step].from.includes(state) && transitions[step].by === role,
  );
}

/** May the observer still change marks? */
export function isOpen(state: ReportState): boolean {
  return state === 'draft' || state === 'returned';
}
