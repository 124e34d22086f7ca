import { followUpWords } from '../results/patterns/follow-up-words.ts';
import { dayInWords } from '../text/days.ts';
import type { RaisedPoint } from './season-source.ts';
import { formatPercent } from './wording.ts';

/** Both rates, before and since the official was told, and what they tell; how often it was looked at is on the pages. */
export function sinceRaised({ kind, on, followUp }: RaisedPoint): string {
  const { before, after } = followUp;
  const how = kind === 'letter' ? 'named in a letter' : 'talked about';
  const rateOf = ({ events, opportunities, rate }: typeof before) =>
    opportunities > 0 ? `${events} of ${opportunities} missed (${formatPercent(rate)})` : 'no chance';
  const { verdict, expected, caution } = followUpWords(followUp);
  return [
    `It was ${how} on ${dayInWords(on)}: before, ${rateOf(before)}; since, ${rateOf(after)}.`,
    verdict,
    expected,
    caution,
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}
