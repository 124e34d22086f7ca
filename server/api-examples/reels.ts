import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

/** Reels of training programs. */
export const reels: ExamplesByOperation = {
  postTrainingProgramsReels: {
    sent: {
      'Of the first edition': { edition: 1 },
      'A private preview with captions in the picture': { edition: null, burnedIn: true },
    },
    answered: { 'Its id': { id: ids.reel } },
  },
};
