import type { MayBegin } from './sitting.ts';

/** Why a sitting cannot begin, as its official reads it. */
export const notBegunBecause: Readonly<Record<Extract<MayBegin, { may: false }>['because'], string>> = {
  'not yet': 'This quiz is not open yet.',
  'season closed': 'The season of this quiz is closed, so nobody begins it any more.',
  over: 'This quiz is over.',
  sitting: 'You have begun already: go on with it.',
  'used up': 'You have no start left.',
  wait: 'The next start is not open to you yet.',
};

/** What is said of an answer that came after the end. */
export const tooLateInWords = (timeZone: string, endedAt: Date): string =>
  `The time of this sitting was over at ${new Intl.DateTimeFormat('en-US', {
    hour: 'numeric',
    minute: '2-digit',
    second: '2-digit',
    timeZone,
    timeZoneName: 'short',
  }).format(endedAt)}. This answer came later: it is kept apart and does not count.`;
