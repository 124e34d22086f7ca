import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const play = { playId: ids.play, quarter: 4, clockSeconds: 131, down: 3, distance: 8, kind: 'pass' };
const asked = {
  id: ids.inquiry,
  season: '2026',
  gameId: ids.game,
  game: 'Larkspur at Copperhill',
  week: 4,
  kickoff: '2026-09-26T18:00:00.000Z',
  number: 3,
  state: 'received',
  category: 'a foul that was not called',
  quarter: 4,
  clockSeconds: 131,
  play,
  film: 'End zone view, 1:42:10 to 1:42:25',
  question: 'Was the contact before the ball arrived by rule a foul?',
  receivedAt: '2026-09-27T14:05:00.000Z',
  dueOn: '2026-10-02',
  sentBackBecause: null,
  sentBackReason: '',
  newFilm: '',
  reopenedAt: null,
  closedAt: null,
  answers: [],
};
const written = {
  gameId: ids.game,
  playId: ids.play,
  category: asked.category,
  film: asked.film,
  question: asked.question,
};
const answer = {
  ruling: 'supportable',
  rule: 'Rule 7-3-8',
  reason: 'Both players play the ball, and the contact is slight.',
};
const handled = {
  ...asked,
  teamId: ids.team,
  team: 'Larkspur',
  decisive: false,
  takenUpBy: null,
  releasedAt: null,
};
const setting = {
  aWeek: 3,
  windowHours: 72,
  answerDays: 5,
  notice: 'An inquiry does not change the result of a game.',
};
const isDone = { Done: { done: true } };

/** What teams ask, and what the conference does with it. */
export const inquiries: ExamplesByOperation = {
  postMyInquiries: {
    sent: {
      'About a play of the log, sent at once': { ...written, send: true },
      'About a clock, kept as a draft': { gameId: ids.game, quarter: 4, clock: '2:11' },
    },
    answered: { Received: asked },
  },
  getMyInquiries: { answered: { 'One that was received': [asked] } },
  putMyInquiriesByInquiryId: {
    sent: { 'A draft that is sent now': { ...written, send: true } },
    answered: { Received: asked },
  },
  postMyInquiriesReopening: {
    sent: { 'New film': { newFilm: 'https://film.team.example/angle-3' } },
    answered: isDone,
  },
  getInquiriesByInquiryId: { answered: { 'One that was received': handled } },
  postInquiriesSteps: {
    sent: {
      'Taken up': { step: 'take up', decisive: false },
      'Sent back': {
        step: 'send back',
        because: 'not reviewable',
        reason: 'It is about no call on the field.',
      },
      'The crew is asked': {
        step: 'ask the crew',
        personIds: [ids.umpire],
        asked: 'What did you see and do on this play?',
      },
      Answered: { step: 'answer', ...answer },
    },
    answered: isDone,
  },
  putInquiriesStatement: {
    sent: { 'In their own words': { text: 'I looked at the receiver and saw both play the ball.' } },
    answered: isDone,
  },
  putInquiriesSecondReading: {
    sent: { 'What they hold': { ruling: 'supportable', words: 'The contact is slight.' } },
    answered: isDone,
  },
  getInquirySettings: { answered: { 'As proposed': setting } },
  putInquirySettings: {
    sent: { 'Two a week': { ...setting, aWeek: 2 } },
    answered: { 'Two a week': { ...setting, aWeek: 2 } },
  },
};
