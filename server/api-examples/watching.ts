import type { ExamplesByOperation } from './example.ts';

/** What the audience of a training program sends. */
export const watching: ExamplesByOperation = {
  postMyTrainingEditionsAnswers: { sent: { 'The first choice on play 2': { play: 2, choice: 0 } } },
  postMyTrainingEditionsWatched: {
    sent: {
      'The film is opened': {},
      'Half a minute was played': { stretches: [[0, 30.5]], place: 30.5, plays: [] },
      'Without film: a play gone through': { plays: [1] },
    },
  },
};
