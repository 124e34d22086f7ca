import { type ExamplesByOperation, setAndAnswered } from './example.ts';
import { ids } from './ids.ts';

/** What the coordinator and the officials do with a report once it is filed. */
export const review: ExamplesByOperation = {
  postReportsReturn: {
    sent: { 'With its reason': { reason: 'The fourth quarter is not logged.' } },
    answered: { Done: { done: true } },
  },
  postSeasonsReportsRelease: {
    sent: { 'One of the week': { reportIds: [ids.report] } },
    answered: { 'It is released': { released: 1 } },
  },
  postGamesRemind: {
    sent: { 'Its observer': { observerId: ids.observer } },
    answered: { 'They are told': { reminded: true }, 'They were told today': { reminded: false } },
  },
  postReportsRevisions: {
    sent: {
      'One mark taken out, one changed': {
        reason: 'Two marks were on the wrong official.',
        corrections: [
          { markId: ids.mark, remove: true },
          {
            markId: ids.markChange,
            finding: 'wrong call',
            comment: 'The foot was in.',
            consequence: 'possession',
          },
        ],
      },
    },
    answered: { 'The second revision': { revision: 2 } },
  },
  postGamesPlaysCorrections: {
    sent: {
      'The ball was dead elsewhere': {
        play: { kind: 'run', spot: 25, quarter: 1, clockSeconds: 882, down: 1, distance: 10, endSpot: 36 },
        reason: 'The spot was read off the wrong hash mark.',
      },
    },
  },
  postGamesPlaysRemoval: {
    sent: {
      'It was logged twice': { reason: 'Logged twice.' },
      'With the marks on it': { reason: 'It was in the scrimmage before.', marksToo: true },
    },
  },
  postObservationsReply: {
    sent: {
      'How it looked from the field': { text: 'A player stood between us; I had no look at the foot.' },
    },
    answered: { Kept: { replyId: ids.message } },
  },
  postRepliesRuling: {
    sent: {
      'It stands': { ruling: 'stands', note: 'The film shows a clear look.' },
      'It is changed': { ruling: 'changed', changedTo: 'cannot tell', note: 'The angle does not tell.' },
      'It is withdrawn': { ruling: 'withdrawn' },
    },
    answered: { Done: { done: true } },
  },
  putReportDays: setAndAnswered({ 'Four days': { reportDays: 4 } }),
  putReplyWindow: setAndAnswered({ 'A week': { replyDays: 7 } }),
  putDecidedShare: {
    sent: { 'Four of five': { decidedShare: 80 } },
    answered: { 'Counted again': { decidedShare: 80, counted: 59, changed: 3 } },
  },
  putRetention: setAndAnswered({
    'Letters for five years, messages for one, the rest for good': {
      remarks: null,
      letters: 5,
      absences: null,
      messages: 1,
      tokens: null,
      people: null,
      nightly: true,
    },
  }),
  postRetentionRuns: {
    sent: { 'What was shown as due': { seen: 'c1f0a7' } },
    answered: { 'Nothing was due': { taken: [] } },
  },
};
