import type { ObserverDetection } from '../../grading/agreement/detection.ts';

/** Said of an observer who never watched a game beside another. */
const noDoubleGame = 'unknown, because no double game';

/** Whether an observer finds more of what is there, only as far as the interval allows. */
export function keennessWords(row: Pick<ObserverDetection, 'keen'> | undefined): string {
  if (!row) return noDoubleGame;
  if (row.keen === 'more') return 'keen: finds more of what is there than those beside them';
  if (row.keen === 'less') return 'less keen: finds less of what is there than those beside them';
  return 'not told apart from those beside them';
}

/** Whether an observer takes more of what both saw for a miss. */
export function strictnessWords(row: Pick<ObserverDetection, 'strict'> | undefined): string {
  if (!row) return noDoubleGame;
  if (row.strict === 'more') return 'strict: marks more of what both saw as missed';
  if (row.strict === 'less') return 'lenient: marks less of what both saw as missed';
  return 'not told apart from the others';
}
