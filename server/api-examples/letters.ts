import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const body = 'Dear {{official.name}},\n\nyou worked {{totals.games}} games of the season {{season.name}}.\n';
const problem = { line: 3, column: 12, message: 'There is no {{totals.gams}}.' };
const preview = { body, seasonId: ids.season, personId: ids.umpire };

/** Letters and the templates they are written by. */
export const letters: ExamplesByOperation = {
  postSeasonsLetterBatches: {
    sent: {
      'For everybody': { kind: 'mid-season' },
      'For some, to be answered by a day': {
        kind: 'end-of-season',
        paper: 'A4',
        replyBy: '2026-12-15',
        personIds: [ids.umpire, ids.referee],
      },
    },
  },
  postSeasonsLettersRelease: {
    sent: {
      'All, told by mail': { kind: 'mid-season', mail: 'link' },
      'One of them': { kind: 'mid-season', letterIds: [ids.letter], mail: 'no' },
    },
    answered: { 'All that are up to date': { released: 56, outOfDate: 1, otherDay: 0 } },
  },
  postSeasonsLettersSendAgain: {
    sent: { 'Of the middle of the season': { kind: 'mid-season' } },
    answered: { 'Two are sent again': { waiting: 2 } },
  },
  putLetterTemplatesByKind: {
    sent: { 'A short letter': { body } },
    answered: { 'The third version': { version: 3 } },
  },
  postLetterTemplatesCheck: {
    sent: { 'A short letter': { body } },
    answered: { 'All is well': { problems: [] }, 'A misspelt name': { problems: [problem] } },
  },
  postLetterTemplatesPreview: {
    sent: { 'For one official': preview, 'For a made-up one': { body, seasonId: ids.season } },
    answered: {
      'As HTML': { problems: [], html: '<p>Dear Idris Copperthorn,</p>' },
      'Not written': { problems: [problem], html: null },
    },
  },
  postLetterTemplatesPreviewPdf: { sent: { 'For one official': preview } },
};
