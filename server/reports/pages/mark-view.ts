import {
  consequenceInWords,
  consequences,
  findingInWords,
  mayHaveConsequence,
} from '../../duties/consequence.ts';
import { effectOf, type Finding } from '../../duties/finding.ts';
import { whyNotCounted } from '../../duties/mark-standing.ts';
import { downInWords, kindInWords, resultInWords } from '../../football/play-in-words.ts';
import type { MarkLine } from '../review/mark-lines.ts';
import type { ReportState } from '../states.ts';

/** How a state's badge is coloured; its word stands in it too. */
export const tones: Record<ReportState, string> = {
  draft: '',
  filed: 'warn',
  returned: 'bad',
  accepted: 'good',
  released: 'good',
};

/** A mark with its play in words. */
export function markView(mark: MarkLine) {
  return {
    ...mark,
    said: findingInWords(mark.finding, mark.consequence),
    changedTo: mark.changedTo && findingInWords(mark.changedTo),
    tone: findingTone(mark.finding),
    notCounted: mark.removed ? undefined : whyNotCounted(mark.standing),
    where: [kindInWords(mark.play), downInWords(mark.play), resultInWords(mark.play)]
      .filter(Boolean)
      .join(', '),
    quarter: mark.play.quarter,
    clock: mark.play.clockSeconds,
    replied: mark.replyId !== null,
  };
}

export function findingTone(finding: Finding): string {
  return { met: 'good', 'not met': 'bad', 'not counted': '' }[effectOf(finding)];
}

/** The choices of what a call cost, for a select; the first is that nobody judged it. */
export function costChoices(chosen: string | null | undefined) {
  return [
    { value: '', words: 'not judged', chosen: !chosen },
    ...consequences.map((value) => ({ value, words: consequenceInWords[value], chosen: value === chosen })),
  ];
}

/** What such a select says, for findings that can have a consequence; others have none. */
export function costFrom(text: string, finding: Finding) {
  if (!mayHaveConsequence(finding)) return null;
  return consequences.find((consequence) => consequence === text) ?? null;
}
