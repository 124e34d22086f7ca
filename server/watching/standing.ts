import { lengthOf, type Stretch } from './stretches.ts';

/** What counts as watched: the share of the reel's length, in percent, and whether every question is to be answered. */
export interface Rule {
  readonly shareNeeded: number;
  readonly allQuestions: boolean;
}

interface Progress {
  /** Length of the reel; null where there is none, and plays are gone through one by one. */
  readonly seconds: number | null;
  readonly stretches: readonly Stretch[];
  /** How many plays there are, and which of them were gone through. */
  readonly plays: number;
  readonly through: readonly number[];
  readonly questions: number;
  readonly answered: number;
}

export interface Standing {
  /** Of the length, or of the plays: 0 to 1. */
  readonly share: number;
  readonly questions: number;
  readonly answered: number;
  readonly isDone: boolean;
}

/** Seconds at the end of a reel that players leave out. */
const tail = 0.5;

export function standingOf(rule: Rule, progress: Progress): Standing {
  const { seconds, stretches, plays, through, questions, answered } = progress;
  const ofLength = seconds === null ? 0 : Math.min(1, lengthOf(stretches) / Math.max(tail, seconds - tail));
  const share = seconds === null ? (plays === 0 ? 1 : new Set(through).size / plays) : ofLength;
  return {
    share,
    questions,
    answered,
    isDone: share * 100 >= rule.shareNeeded && (!rule.allQuestions || answered >= questions),
  };
}

/** The rule in words that complete "It counts as watched when ...". */
export const ruleInWords = ({ shareNeeded, allQuestions }: Rule, hasReel: boolean): string =>
  `${shareNeeded} % of ${hasReel ? 'its length was played' : 'its plays were gone through'}${allQuestions ? ' and every question is answered' : ''}`;
