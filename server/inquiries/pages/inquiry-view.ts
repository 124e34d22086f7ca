import { capital } from '../../web/format.ts';
import { playOfInquiry } from '../answer-letter.ts';
import { rulingMeans } from '../rules/categories-and-rulings.ts';
import { type InquiryState, stepsFrom } from '../rules/states.ts';
import type { Inquiry } from '../stores/inquiry-store.ts';

const tones: Readonly<Record<InquiryState, string>> = {
  draft: '',
  received: 'warn',
  'taken up': 'warn',
  'sent back': 'bad',
  'crew asked': 'warn',
  'under review': 'warn',
  answered: 'good',
  closed: '',
};

/** An inquiry as a line of a list. */
export const inquiryLine = (inquiry: Inquiry) => ({
  ...inquiry,
  title: inquiry.number === null ? 'Draft' : `Inquiry ${inquiry.number}`,
  tone: tones[inquiry.state],
  playWords: playOfInquiry(inquiry) || 'no play chosen yet',
  dueAt: inquiry.dueOn === null ? null : new Date(`${inquiry.dueOn}T00:00:00Z`),
  ruling: inquiry.answers.at(-1)?.ruling ?? null,
});

/** The same with its answers, for its own page. */
export const inquiryView = (inquiry: Inquiry) => ({
  ...inquiryLine(inquiry),
  isDraft: inquiry.state === 'draft',
  isSentBack: inquiry.state === 'sent back',
  categoryWords: capital(inquiry.category),
  answered: inquiry.answers.map((answer) => ({
    ...answer,
    again: answer.round > 1,
    means: rulingMeans[answer.ruling],
  })),
  mayReopen:
    !inquiry.closedSeason &&
    inquiry.reopenedAt === null &&
    stepsFrom(inquiry.state, 'contact').includes('reopen'),
  mayClose: !inquiry.closedSeason && stepsFrom(inquiry.state, 'contact').includes('close'),
});
