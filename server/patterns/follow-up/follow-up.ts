import type { Rate } from '../exact-tests.ts';
import { type Interval, wilsonInterval } from '../wilson-interval.ts';
import { chancesNeeded, powerToSeeFall } from './chances-needed.ts';
import { type DatedCount, levelsNeeded, looksOf } from './looks.ts';
import type { OfficialSpread } from './official-spread.ts';
import { ownLevel, rateAt } from './own-level.ts';
import { ifUnchanged, meanRate, tailsOf } from './unchanged.ts';

export const verdicts = [
  'too early to tell',
  'cannot be told',
  'fewer misses',
  'no change shown',
  'more misses',
] as const;
export type Verdict = (typeof verdicts)[number];

/** One-sided error of all looks of a season together, for "fewer" and for "more" each. */
export const followUpLevel = 0.05;
/** Chance that a fall should have of being seen before silence counts as an answer. */
const power = 0.8;
const confidence = 0.95;

export interface FollowUp {
  before: Rate & { rate: number; interval: Interval };
  after: Rate & { rate: number; interval: Interval; games: number };
  verdict: Verdict;
  /** Why it cannot be told, in a sentence; else null. */
  reason: string | null;
  /**
   * Miss rate that would be usual afterwards, as its observers mark, had nothing changed: part of a high count before
   * is taken to be chance. Null when it cannot be told.
   */
  unchangedRate: number | null;
  /** One-sided p-value of so few misses, had nothing changed; 1 when there is none. */
  pFewer: number;
  /** The same of so many. */
  pMore: number;
  /** What a p-value had to reach at this look; 0 when nothing could be said yet. */
  level: number;
  /** How often it was looked at since, this look included. */
  looks: number;
  /** Miss rate hoped for after the conversation: peers' rate, or half the unchanged one where that is lower. */
  targetRate: number | null;
  /** Chances afterwards by which a fall to it shows with 80 % probability; null when told, or when over 300. */
  opportunitiesNeeded: number | null;
}

interface Followed {
  /** Counts of one duty (or cut) at one position; everybody's, the official's included. */
  rows: readonly DatedCount[];
  official: string;
  /** The day the official was told: games after it count as after. */
  told: string;
  spread: OfficialSpread;
  /** The season's last week with a game. */
  lastWeek: number;
}

/**
 * Did the misses stop? Games after the first conversation or letter beside those before it.
 *
 * *Selection.* A point is opened because the season looked bad, so the count before is, on average, too high. The
 * games after are held against what is likely had nothing changed, given the count before and how officials of the
 * season differ (empirical Bayes, `ifUnchanged`): right for whatever count the point was opened on. As that spread may
 * be misjudged, the count before taken at its word must agree: the larger of both p-values counts.
 *
 * *Observers.* Both sides are compared with peers, observer by observer: what is known of an observer's level at the
 * duty are the peers whom the same observer saw, and beforehand the observer's severity over all duties. The exact
 * conditional test, which takes nothing for known beforehand, saw half as many real falls: most observers see two or
 * three others at a duty. *Games* that differ widen what is likely, of the official's misses and of the peers'.
 *
 * *Looks.* One after each game; "fewer" is said wrongly with probability 0.05 at most over all of them, and so is
 * "more" (`nominalLevels`). Nothing is said before two games. *No change shown* needs enough chances that a fall to
 * `targetRate` would have shown with probability 0.8; until then it is too early.
 */
export function followUp({ rows, official, told, spread, lastWeek }: Followed): FollowUp {
  checkCounts(rows);
  const own = rows.filter((row) => row.official === official && row.opportunities > 0);
  const peers = rows.filter((row) => row.official !== official);
  const early = own.filter((row) => row.day <= told);
  const late = own.filter((row) => row.day > told);
  const reason = whyNot(early, peers);
  const found: FollowUp = {
    before: shown(early),
    after: { ...shown(late), games: new Set(late.map(({ game }) => game)).size },
    verdict: 'too early to tell',
    reason,
    unchangedRate: null,
    pFewer: 1,
    pMore: 1,
    level: 0,
    looks: 0,
    targetRate: null,
    opportunitiesNeeded: null,
  };
  if (reason !== null) return { ...found, verdict: 'cannot be told' };

  const before = ownLevel(early, peers, spread);
  // Until there are games after, those before stand for what they will be like.
  const after = late.length > 0 ? ownLevel(late, peers, spread) : before;
  const firstWeek = Math.min(...own.map(({ week }) => week));
  const looks = looksOf(late, before.own.opportunities, firstWeek, lastWeek);
  const unchanged = ifUnchanged(before, spread, after.gameShare);
  const unchangedRate = meanRate(after, unchanged.shrunk);
  const targetRate = Math.min(unchangedRate / 2, rateAt(after, 0));
  const yardstick = {
    masses: [unchanged.shrunk, unchanged.unshrunk],
    rateAt: (logOdds: number) => rateAt(after, logOdds),
  };
  const { latest: level, atEnd } = levelsNeeded(looks, followUpLevel);
  const result = { ...found, unchangedRate, targetRate, level, looks: looks.length };
  if (late.length > 0) {
    const tails = tailsOf(after, yardstick.masses);
    result.pFewer = tails.fewer;
    result.pMore = tails.more;
  }
  if (looks.length > 0) {
    if (result.pFewer <= level) return { ...result, verdict: 'fewer misses' };
    if (result.pMore <= level) return { ...result, verdict: 'more misses' };
    if (powerToSeeFall(yardstick, after.own.opportunities, targetRate, level) >= power)
      return { ...result, verdict: 'no change shown' };
  }
  return { ...result, opportunitiesNeeded: chancesNeeded(yardstick, targetRate, atEnd, power) };
}

function whyNot(early: readonly DatedCount[], peers: readonly DatedCount[]): string | null {
  if (early.length === 0) return 'There was no chance before, so there is nothing to compare with.';
  if (!peers.some(({ opportunities }) => opportunities > 0))
    return 'Nobody else had this duty in this position.';
  return null;
}

/** Counts summed, with their rate and its interval of chance. */
export function shown(rows: readonly Pick<DatedCount, 'misses' | 'opportunities'>[]) {
  const events = rows.reduce((sum, { misses }) => sum + misses, 0);
  const opportunities = rows.reduce((sum, row) => sum + row.opportunities, 0);
  return {
    events,
    opportunities,
    rate: opportunities > 0 ? events / opportunities : 0,
    interval: wilsonInterval(events, opportunities, confidence),
  };
}

function checkCounts(rows: readonly DatedCount[]): void {
  for (const { official, game, misses, opportunities } of rows) {
    const whole = Number.isInteger(misses) && Number.isInteger(opportunities);
    if (!whole || misses < 0 || misses > opportunities)
      throw new RangeError(
        `${official}, game ${game}: ${misses} of ${opportunities} is not a count of misses`,
      );
  }
}
