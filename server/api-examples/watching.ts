import { type ExamplesByOperation, setAndAnswered } from './example.ts';
import { ids } from './ids.ts';

/** What the audience of a training program sends, those who are shown, and their coordinator. */
export const watching: ExamplesByOperation = {
  postTrainingProgramsEditionsAudience: { sent: { 'One who came later': { personIds: [ids.umpire] } } },
  postTrainingProgramsEditionsReminders: {
    sent: { 'All who have not': {}, 'One of them': { personIds: [ids.umpire] } },
    answered: { 'Once a day': { reminded: 1 } },
  },
  putTrainingProgramsEditionsNames: {
    sent: { 'One crew about itself': { shown: true }, 'No longer': { shown: false } },
  },
  postTrainingProgramsEditionsSessions: {
    sent: {
      'An evening, and until when others watch': {
        heldOn: '2026-10-05',
        place: 'Meeting room',
        makeUpBy: '2026-10-12',
      },
    },
  },
  putTrainingProgramsEditionsSessionsAttended: {
    sent: { 'Two were there': { personIds: [ids.umpire, ids.referee] } },
  },
  putTrainingProgramsWatchingRule: setAndAnswered({
    'Nine tenths, and every question': { shareNeeded: 90, allQuestions: true, remindDays: 3 },
  }),
  postTrainingProgramsTelling: {
    sent: { 'For three days': { days: 3 } },
    answered: { 'Two are told': { told: 2 } },
  },
  postTrainingProgramsDecisions: {
    sent: {
      'Left out': {
        playId: ids.play,
        officialId: ids.umpire,
        decision: 'left out',
        reason: 'It is settled between us.',
      },
    },
  },
  postMyShownInTrainingObjection: {
    sent: { 'A reason': { reason: 'My view was blocked by a player who fell.' } },
  },
  putTrainingSetting: setAndAnswered({
    'Our own words': { notice: 'For officials of this conference. Do not pass it on.', objectionDays: 3 },
  }),
  postMyTrainingEditionsAnswers: { sent: { 'The first choice on play 2': { play: 2, choice: 0 } } },
  postMyTrainingEditionsWatched: {
    sent: {
      'The film is opened': {},
      'Half a minute was played': { stretches: [[0, 30.5]], place: 30.5, plays: [] },
      'Without film: a play gone through': { plays: [1] },
    },
  },
};
