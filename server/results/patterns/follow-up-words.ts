import type { FollowUp, Verdict } from '../../patterns/follow-up/follow-up.ts';

/** What a follow-up tells, in the same sentences on pages and in letters. */
export interface FollowUpWords {
  verdict: string;
  /** What was to be expected had nothing changed; empty when it cannot be told. */
  expected: string;
  /** That part of a fall comes by itself; empty where there is none. */
  caution: string;
  /** How often it was looked at; empty before the first time. */
  looks: string;
}

const verdictWords: Record<Exclude<Verdict, 'cannot be told' | 'no change shown'>, string> = {
  'too early to tell': 'It is too early to tell.',
  'fewer misses': 'That is fewer misses than before, by more than chance explains.',
  'more misses': 'That is more misses than before, by more than chance explains.',
};

/** Misses in words, where they are next to none too. */
const about = (misses: number) => (misses < 0.5 ? 'hardly any' : `about ${Math.round(misses)}`);

function verdictOf({ verdict, reason, after, targetRate }: FollowUp): string {
  if (verdict === 'cannot be told') return `It cannot be told. ${reason}`;
  if (verdict !== 'no change shown') return verdictWords[verdict];
  // Which fall is meant: one of half may still be hidden where peers miss far less.
  const { opportunities } = after;
  return `That shows no change: a fall to ${about((targetRate ?? 0) * opportunities)} of ${opportunities} would most likely have shown by now.`;
}

export function followUpWords(found: FollowUp): FollowUpWords {
  const { before, after, verdict, unchangedRate, looks } = found;
  const { opportunities } = after;
  const expected =
    unchangedRate === null || opportunities === 0
      ? ''
      : `Part of a high count is usually chance. With that taken off, and with the observers of the games since, ${about(unchangedRate * opportunities)} of ${opportunities} would have been missed had nothing changed.`;
  const fell = opportunities > 0 && after.rate < before.rate;
  return {
    verdict: verdictOf(found),
    expected,
    caution: !fell
      ? ''
      : verdict === 'fewer misses'
        ? 'Part of the fall may still be a return to the usual.'
        : 'A fall so far may be a return to the usual.',
    looks:
      looks === 0
        ? ''
        : looks === 1
          ? 'It was looked at once.'
          : `It was looked at ${looks === 2 ? 'twice' : `${looks} times`}, after each week with a game; the more looks, the more each of them has to show.`,
  };
}
