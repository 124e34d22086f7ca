import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

/** Clips that observers mark, each blind to the others. */
export const calibration: ExamplesByOperation = {
  postSeasonsCalibrationSets: {
    sent: {
      'One clip, until a day': {
        title: 'August clips',
        dueOn: '2026-08-15',
        clips: [{ playId: ids.play, position: 'umpire' }],
      },
    },
  },
  postCalibrationSetsOpen: { sent: { 'Two observers': { observers: [ids.observer, ids.coordinator] } } },
  putCalibrationSetsClipsMarks: {
    sent: { 'All that is asked': { findings: { 'count-the-offense': 'met', 'the-call': 'not seen' } } },
  },
};
