import { modelDoing, type SeasonModel } from '../../grading/season-choice.ts';

/** What each model does, as a person would say it. */
export const modelWords: Readonly<Record<SeasonModel, { name: string; doing: string; takes: string }>> = {
  linear: {
    name: 'points added',
    doing: modelDoing.linear,
    takes:
      "Every report's grade is taken as the position's average, plus the official, plus the observer's severity, plus how hard the game was for everyone, plus chance. Where a position usually loses twice as much, each of these is taken to be worth twice the points.",
  },
  counts: {
    name: 'misses counted',
    doing: modelDoing.counts,
    takes:
      "What was missed of every report's chances is taken as what anybody misses of them in that position, multiplied up or down by the official (in dear duties and in others apart), by the observer's severity and by how hard the game was for everyone.",
  },
};
