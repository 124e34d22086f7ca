import { z } from 'zod';

/** What a conference can decide to keep for some years only, in the order in which it is taken away. */
export const retentionKinds = ['remarks', 'letters', 'absences', 'messages', 'tokens', 'people'] as const;
export type RetentionKind = (typeof retentionKinds)[number];

interface KindWords {
  readonly title: string;
  /** What goes, and from when on the years are counted. */
  readonly what: string;
  /** Fewer years would take away what a conference still works with: common practice, no source. */
  readonly least: number;
}

const most = 50;

export const kindWords: Readonly<Record<RetentionKind, KindWords>> = {
  remarks: {
    title: 'What was written about a season',
    what: 'Comments on marks, notes on plays, general comments, answers, notes on rulings and development points, reasons given for assignments; in earlier versions and in the history too. Counted from the season’s closing.',
    least: 1,
  },
  letters: {
    title: 'Letters and season books',
    what: 'As PDF, with the data they were written from. A book asked for again is written anew. Counted from the season’s closing.',
    least: 1,
  },
  absences: {
    title: 'When people were away',
    what: 'Observers’ absences, and officials’ answers for a season, with their notes. Counted from the absence’s last day and the season’s closing.',
    least: 1,
  },
  messages: {
    title: 'Messages',
    what: 'What people were told, invitations and failed mails too, which otherwise stay; all others go sooner anyway, see below. Counted from the day they were told.',
    least: 1,
  },
  tokens: {
    title: 'Ended keys of programs',
    what: 'Name and dates of tokens that expired or were revoked. Counted from their end.',
    least: 1,
  },
  people: {
    title: 'People who left',
    what: 'Name, contact and all that an erasure takes, of whoever has no part in any season that is younger or not closed, is no coordinator, is not signed in and has not signed in for half a year. Counted from the closing of their last season.',
    least: 2,
  },
};

const years = (kind: RetentionKind) => {
  const { least } = kindWords[kind];
  const sentence = `${kind} must be a whole number of years from ${least} to ${most}, or empty (null in the API) to keep it for good`;
  return z.number(sentence).int(sentence).min(least, sentence).max(most, sentence).nullable();
};

/** For how many years each kind is kept; null is for good. */
export const retentionSchema = z.strictObject({
  remarks: years('remarks'),
  letters: years('letters'),
  absences: years('absences'),
  messages: years('messages'),
  tokens: years('tokens'),
  people: years('people'),
  nightly: z
    .boolean('nightly must be true or false')
    .describe('Whether it is taken away each night by itself.'),
});
export type Retention = z.infer<typeof retentionSchema>;

export const keptForGood: Retention = {
  remarks: null,
  letters: null,
  absences: null,
  messages: null,
  tokens: null,
  people: null,
  nightly: false,
};
