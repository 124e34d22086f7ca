import { openInquiry } from '../../schedule/open-states.ts';

/** Where an inquiry stands, in the order in which it goes through. */
export const inquiryStates = [
  'draft',
  'received',
  'taken up',
  'sent back',
  'crew asked',
  'under review',
  'answered',
  'closed',
] as const;
export type InquiryState = (typeof inquiryStates)[number];

export const inquirySteps = [
  'send',
  'take up',
  'send back',
  'ask the crew',
  'ask a second reader',
  'review',
  'answer',
  'close',
  'reopen',
] as const;
type InquiryStep = (typeof inquirySteps)[number];

interface Transition {
  readonly from: readonly InquiryState[];
  /** Left out: the state stays. */
  readonly to?: InquiryState;
  readonly by: readonly ('contact' | 'coordinator')[];
  /** Completes "only one that is ... can be". */
  readonly done: string;
}

const inHand = ['taken up', 'crew asked', 'under review'] as const;

export const transitions: Readonly<Record<InquiryStep, Transition>> = {
  send: { from: ['draft'], to: 'received', by: ['contact'], done: 'sent' },
  'take up': { from: ['received'], to: 'taken up', by: ['coordinator'], done: 'taken up' },
  'send back': {
    from: ['received', 'taken up'],
    to: 'sent back',
    by: ['coordinator'],
    done: 'sent back',
  },
  'ask the crew': { from: inHand, to: 'crew asked', by: ['coordinator'], done: 'put to the crew' },
  'ask a second reader': { from: inHand, by: ['coordinator'], done: 'given to a second reader' },
  review: {
    from: ['taken up', 'crew asked'],
    to: 'under review',
    by: ['coordinator'],
    done: 'put under review',
  },
  answer: { from: inHand, to: 'answered', by: ['coordinator'], done: 'answered' },
  close: { from: ['answered'], to: 'closed', by: ['contact', 'coordinator'], done: 'closed' },
  reopen: { from: ['answered', 'closed'], to: 'received', by: ['contact'], done: 'reopened' },
};

/** Waits for the conference: its play must not be shown to everybody, and it has a day on which it is due. */
export const isOpen = (state: InquiryState): boolean => openInquiry.includes(state);

/** What the rules do not allow. The sentence is for whoever asked. */
export class InquiryRefused extends Error {
  override name = 'InquiryRefused';
  /** @param field of what was sent, where one can be named */
  constructor(
    message: string,
    readonly field: string | null = null,
  ) {
    super(message);
  }
}

/**
 * The state after a step.
 * @throws InquiryRefused naming the state it is in and those it would have to be in
 */
export function stateAfter(state: InquiryState, step: InquiryStep, reopenedBefore = false): InquiryState {
  const { from, to, done } = transitions[step];
  if (!from.includes(state))
    throw new InquiryRefused(
      `This inquiry is ${state}; only one that is ${new Intl.ListFormat('en-US', { type: 'disjunction' }).format(from)} can be ${done}.`,
    );
  if (step === 'reopen' && reopenedBefore)
    throw new InquiryRefused(
      'This inquiry was reopened once already; its second answer is the last. Write to the coordinator.',
    );
  return to ?? state;
}

/** The steps open to somebody from a state, in the order they come in. */
export const stepsFrom = (state: InquiryState, by: 'contact' | 'coordinator'): InquiryStep[] =>
  inquirySteps.filter((step) => transitions[step].from.includes(state) && transitions[step].by.includes(by));
