import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const crew = [
  { position: 'referee', personId: ids.referee },
  { position: 'umpire', personId: ids.umpire },
];
const run = {
  kind: 'run',
  spot: 25,
  quarter: 1,
  clockSeconds: 882,
  down: 1,
  distance: 10,
  playSide: 'line judge side',
  carrier: 'other',
  looseBall: 'none',
  endSpot: 31,
  outOfBounds: false,
  endedBy: 'line judge',
  score: 'none',
  turnover: 'none',
  fouls: [],
};
const markOn = { markId: ids.mark, playId: ids.play, position: 'umpire', dutyKey: 'count-the-offense' };
const duty = {
  key: 'count-the-offense',
  title: 'Count the offense',
  category: 'before the snap',
  per: 'play',
  expected: 'count the offense before every snap and show the partner a count of eleven',
  positions: ['referee', 'umpire'],
  crewSizes: [4, 5, 6, 7, 8],
  instead: [],
  who: 'each',
  allOf: [], // really `snap`; see rubric.ts
  anyOf: [],
  unless: [],
  weight: 0.25,
  gradedAs: 'mechanics',
  guidance: 'Count as the huddle breaks, line first, then backs.',
  source: 'The conference’s manual, section 4.',
};
const officials = [
  { personId: ids.referee, name: 'Maren Quillfeather', usually: 'referee' },
  { personId: ids.umpire, name: 'Idris Copperthorn', usually: 'umpire' },
];
const mark = {
  id: ids.mark,
  playId: ids.play,
  number: 2,
  personId: ids.umpire,
  official: 'Idris Copperthorn',
  position: 'umpire',
  dutyKey: duty.key,
  duty: duty.title,
  finding: 'missed',
  consequence: null,
  comment: 'No count shown.',
  standing: 'counted',
  removed: false,
  reply: null,
  ruling: null,
  changedTo: null,
  rulingNote: null,
};

/** An observer’s report from opening to filing, as a program sends it. */
export const entry: ExamplesByOperation = {
  postGamesReports: {
    sent: { 'Under an id of one’s own': { reportId: ids.report }, 'Under any id': {} },
    answered: { 'The report': { reportId: ids.report } },
  },
  getReportsEntry: {
    answered: {
      'One play, one mark': {
        report: {
          id: ids.report,
          state: 'draft',
          revision: 0,
          returnedReason: null,
          generalComment: '',
          watched: null,
        },
        game: {
          id: ids.game,
          title: 'Harrowfall Hayforks at Northquill Nightjars',
          home: 'Northquill Nightjars',
          visitor: 'Harrowfall Hayforks',
          week: 1,
          kickoff: '2026-09-05T17:00:00.000Z',
          timeZone: 'America/Chicago',
          filmLink: null,
          finalScore: { home: 17, visitor: 30 },
          crewSize: 8,
        },
        decidedShareLeast: 0.8,
        crewConfirmed: true,
        crew,
        planned: crew,
        officials,
        duties: [duty],
        missedBefore: [],
        code: 'college',
        practices: {
          spotInTheMiddle: 'head linesman',
          motion: 'the wing it leaves',
          pylonsInsideTheFive: 'wings',
          backJudgeOnFreeKicks: 'deep',
        },
        plays: [
          { playId: ids.play, number: 2, play: run, filmSeconds: 255, note: '', changeId: ids.playChange },
        ],
        marks: [
          {
            ...markOn,
            finding: 'missed',
            comment: mark.comment,
            consequence: null,
            changeId: ids.markChange,
          },
        ],
        conflicts: [],
      },
    },
  },
  postReportsChanges: {
    sent: {
      'Who worked, and a mark on a play that is there': {
        changes: [
          { kind: 'confirm crew', id: ids.crewChange, was: crew, crew },
          {
            kind: 'put mark',
            id: ids.markChange,
            basedOn: null,
            ...markOn,
            finding: 'missed',
            comment: 'No count shown.',
          },
        ],
      },
      'A play, put after another': {
        changes: [
          {
            kind: 'put play',
            id: ids.playChange,
            basedOn: null,
            playId: ids.nextPlay,
            after: ids.play,
            play: run,
            filmSeconds: 255,
            note: '',
          },
        ],
      },
      'Only some positions were watched': {
        changes: [
          {
            kind: 'watched',
            id: ids.watchedChange,
            was: null,
            watched: { positions: ['referee', 'umpire'], stretches: [] },
          },
        ],
      },
    },
    answered: {
      'Both are kept': {
        results: [
          { id: ids.crewChange, outcome: 'applied' },
          { id: ids.markChange, outcome: 'applied' },
        ],
      },
      'Somebody changed the same meanwhile': { results: [{ id: ids.markChange, outcome: 'conflict' }] },
    },
  },
  postReportsFile: {
    answered: {
      Filed: { done: true, warnings: [] },
      'Filed, though a quarter is missing': {
        done: true,
        warnings: [
          {
            what: 'quarter',
            says: 'No play of the 4th quarter is logged.',
            fix: 'Log it, or say at the report what was not watched.',
          },
        ],
      },
    },
  },
  getReportsByReportId: {
    answered: {
      'Filed, with one mark': {
        id: ids.report,
        state: 'filed',
        revision: 0,
        week: 1,
        gameId: ids.game,
        game: 'Harrowfall Hayforks at Northquill Nightjars',
        observerId: ids.observer,
        observer: 'Tobin Marrowell',
        filedAt: '2026-09-07T20:11:00.000Z',
        releasedAt: null,
        marks: 1,
        repliesWaiting: 0,
        observations: [mark],
        officials: [
          {
            position: 'umpire',
            personId: ids.umpire,
            official: 'Idris Copperthorn',
            opportunities: 240,
            notMet: 1,
            notCounted: 0,
            model: 0,
            watchedShare: 1,
            decidedShare: 0.94,
          },
        ],
        watched: null,
        leftOut: [],
      },
    },
  },
};
