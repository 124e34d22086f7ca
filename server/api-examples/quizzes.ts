import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const question = {
  label: '8-3-2-a',
  text: 'Who is credited with the score in this invented play?',
  choices: ['The offense', 'The defense', 'Nobody'],
  answer: 1,
  explanation: 'The ball was dead behind the line.',
  code: 'college',
  rule: '8-3-2',
};

/** Questions on rules and mechanics, quizzes made of them, clinics. */
export const quizzes: ExamplesByOperation = {
  postQuizQuestions: { sent: { 'Three choices, the second right': question } },
  putQuizQuestionsByQuestionId: {
    sent: { 'For one position': { ...question, mechanic: 'Chapter 4', positions: ['umpire'] } },
  },
  postSeasonsQuizzes: {
    sent: {
      'A week in August, one retake': {
        title: 'August rules',
        opensAt: '2026-08-03T12:00:00Z',
        closesAt: '2026-08-10T12:00:00Z',
        minutes: 30,
        starts: 2,
        hoursBetween: 24,
        counts: 'best',
        draws: 20,
        questions: [ids.question],
      },
    },
  },
  putMyQuizzesAnswersByPlace: { sent: { 'The second choice': { choice: 1 } } },
  postSeasonsClinics: {
    sent: {
      'For all officials': {
        title: 'Preseason clinic',
        heldOn: '2026-08-01',
        place: 'Conference office',
        minutes: 120,
        makeUp: 'Watch the recording and send three questions.',
      },
    },
  },
  putClinicsAttendance: {
    sent: {
      'One there, one excused': {
        people: [
          { officialId: ids.umpire, state: 'attended' },
          { officialId: ids.referee, state: 'excused', note: 'Worked a game that day.' },
        ],
      },
    },
  },
};
