import type { ClipsTaken } from '../../grading/clip-marks.ts';

const counted = (count: number, what: string) => `${count} ${what}${count === 1 ? '' : 's'}`;

/** What the marks of clips do in a season's standings, in sentences. */
export function clipsSentence(taken: ClipsTaken): string {
  if (taken.reason !== null)
    return `By this season's settings marks of clips say how strict observers are as well, but none are taken in: ${taken.reason}.`;
  const { observers, withoutReport, clips, marks, joined } = taken;
  return [
    `The marks of ${counted(observers, 'observer')} on ${counted(clips, 'clip')} (${marks} in all) are taken in: they make surer how strict each observer is, and so what is taken out of grades for it. No grade moves because a clip shows somebody.`,
    ...(withoutReport > 0
      ? [
          `${withoutReport === 1 ? 'One of them' : `${withoutReport} of them`} reported on no game of the season and ${withoutReport === 1 ? 'is' : 'are'} not listed.`,
        ]
      : []),
    ...(joined > 0
      ? [
          `No report links all of the officials: ${joined + 1} groups of them can be held beside each other only because their observers judged the same clips. That rests on observers being about as strict on film as at games; the intervals allow for what is known of that.`,
        ]
      : []),
  ].join(' ');
}
