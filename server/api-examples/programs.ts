import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const frame = {
  title: 'Before the snap',
  goal: 'Count, show the count, and know who is eligible.',
  minutes: 40,
};
const card = {
  topic: 'The count',
  aspect: 'keys',
  showing: 'good',
  position: 'umpire',
  dutyKey: 'count-the-offense',
  answer: 'Eleven, and shown to the referee.',
  answeredOn: null,
  ruleCited: '',
  mechanicCited: '',
  twoMechanics: false,
  firstKey: 'The huddle breaks.',
  secondKey: 'A late substitute.',
  question: 'How many are on the field?',
  choices: [
    { text: 'Eleven', right: true },
    { text: 'Twelve', right: false },
  ],
  narration: '',
  secondsBefore: 4,
  secondsAfter: 6,
};

const shot = {
  filmId: '019a5f00-0000-7000-8000-000000000100',
  timebase: { numerator: 1, denominator: 30_000 },
  from: 360_360,
  to: 660_660,
};
const slowly = {
  ...shot,
  from: 480_480,
  to: 540_540,
  slow: 2,
  freezes: [{ at: 510_510, seconds: 2 }],
  pointers: [{ shape: 'circle', from: 510_510, to: 540_540, x: 0.4, y: 0.5 }],
};

/** Training programs: what they are for, which plays they show, what is said of each, and what is given out. */
export const programs: ExamplesByOperation = {
  postSeasonsTrainingPrograms: {
    sent: {
      'For everybody': frame,
      'For one position, by a day': {
        ...frame,
        audience: 'position',
        audiencePosition: 'umpire',
        dueOn: '2026-10-12',
      },
    },
  },
  putTrainingProgramsByProgramId: {
    sent: { 'A longer evening': { frame: { ...frame, minutes: 60 }, frameVersion: 2 } },
  },
  postTrainingProgramsUndo: { sent: { 'The last change': { version: 7 } } },
  postTrainingProgramsProposal: {
    sent: {
      'As many as fit': {},
      'Twelve on two duties': {
        clips: 12,
        dutyKeys: ['count-the-offense', 'formation-and-eligible-numbers'],
      },
    },
  },
  postTrainingProgramsOrder: { sent: { 'As proposed': { orderVersion: 3 } } },
  postTrainingProgramsPlays: {
    sent: {
      'A play done well': {
        playId: ids.play,
        dutyKey: 'count-the-offense',
        position: 'umpire',
        showing: 'good',
      },
    },
  },
  putTrainingProgramsPlaysByPlayId: { sent: { 'With a question to choose from': { card, version: 1 } } },
  putTrainingProgramsPlaysCut: {
    sent: {
      'Twice, the second time slowly with a circle': { cut: { shots: [shot, slowly] }, version: 0 },
    },
  },
  postTrainingProgramsPlaysPlace: { sent: { 'To the front': { place: 1, orderVersion: 3 } } },
  postTrainingProgramsEditions: {
    sent: { 'As it is now': { version: 8, note: 'For the meeting before week 6.' } },
    answered: { 'The first edition': { number: 1 } },
  },
};
