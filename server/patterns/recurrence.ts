import { binomial, fisherExactTest, lowerTail, type Rate } from './exact-tests.ts';
import { type Interval, wilsonInterval } from './wilson-interval.ts';

export type Verdict = 'too early to tell' | 'fewer misses' | 'no change shown' | 'more misses';

export interface FollowUpSettings {
  /** One-sided level of the before-and-after test. */
  level: number;
  /** Chance that the test should have of seeing the hoped-for fall before silence counts as an answer. */
  power: number;
  /** Games after the conversation before anything is said. */
  minimumGames: number;
  confidence: number;
}

export const defaultFollowUpSettings: FollowUpSettings = {
  level: 0.05,
  power: 0.8,
  minimumGames: 2,
  confidence: 0.95,
};

export interface FollowUp {
  before: Rate & { rate: number; interval: Interval };
  after: Rate & { rate: number; interval: Interval; games: number };
  verdict: Verdict;
  /** Fisher's exact test that the rate fell, one-sided. */
  pFewer: number;
  /** The same that it rose. */
  pMore: number;
  /** Miss rate hoped for after the conversation: peers' rate, or half the old one where that is lower. */
  targetRate: number;
  /** Chances after the conversation at which the test has its power; null when over `mostChances`. */
  opportunitiesNeeded: number | null;
}

/** Beyond this many chances in one duty no season helps; the search stops. */
const mostChances = 600;

/** Chance that Fisher's test shows a fall with `after` opportunities when the true rate has become `target`. */
export function powerToSeeFall(before: Rate, after: number, target: number, level: number): number {
  if (after === 0) return 0;
  let most = -1; // most misses afterwards that would still be a fall beyond chance
  while (
    most < after &&
    fisherExactTest({ events: most + 1, opportunities: after }, before, 'fewer') <= level
  ) {
    most++;
  }
  return most < 0 ? 0 : lowerTail(binomial(after, target), most);
}

function chancesNeeded(before: Rate, target: number, settings: FollowUpSettings): number | null {
  for (let after = 1; after <= mostChances; after += after < 40 ? 1 : after < 120 ? 4 : 20) {
    if (powerToSeeFall(before, after, target, settings.level) >= settings.power) return after;
  }
  return null;
}

/**
 * Did the misses stop? Miss rates before and after the first conversation or letter, by Fisher's exact test,
 * one-sided each way.
 *
 * *Too early to tell*, the rule: nothing is said before `minimumGames` games with chances (2). A fall or a
 * rise beyond chance (p at most `level`, 0.05) is then said as soon as it is there. Where neither is there,
 * silence only counts as *no change shown* once the official has had enough chances that a fall to the target
 * rate would have been seen with probability `power` (0.8, computed exactly); until then it is too early.
 *
 * A point is opened because the season looked bad, so the rate before is, on average, a little too high
 * (regression to the mean): whoever shows this says so, and shows the rate of peers beside it.
 *
 * @param peersRate miss rate of peers, marked by the same observers, 0 to 1; null when unknown
 * @param gamesAfter games after the conversation with at least one chance
 */
export function followUp(
  before: Rate,
  after: Rate,
  gamesAfter: number,
  peersRate: number | null,
  given: Partial<FollowUpSettings> = {},
): FollowUp {
  const settings = { ...defaultFollowUpSettings, ...given };
  for (const [name, rate] of Object.entries({ before, after })) {
    const { events, opportunities } = rate;
    const whole = Number.isInteger(events) && Number.isInteger(opportunities);
    if (!whole || events < 0 || events > opportunities) {
      throw new RangeError(`${name}: ${events} of ${opportunities} is not a count of misses`);
    }
  }
  const rateOf = (rate: Rate) => (rate.opportunities > 0 ? rate.events / rate.opportunities : 0);
  const half = rateOf(before) / 2;
  const targetRate = peersRate === null ? half : Math.min(half, Math.max(0, peersRate));
  const pFewer = fisherExactTest(after, before, 'fewer');
  const pMore = fisherExactTest(after, before, 'more');
  const enoughGames = gamesAfter >= settings.minimumGames && before.opportunities > 0;
  let verdict: Verdict = 'too early to tell';
  if (enoughGames) {
    if (pFewer <= settings.level) verdict = 'fewer misses';
    else if (pMore <= settings.level) verdict = 'more misses';
    else if (powerToSeeFall(before, after.opportunities, targetRate, settings.level) >= settings.power) {
      verdict = 'no change shown';
    }
  }
  const shown = (rate: Rate) => ({
    ...rate,
    rate: rateOf(rate),
    interval: wilsonInterval(rate.events, rate.opportunities, settings.confidence),
  });
  return {
    before: shown(before),
    after: { ...shown(after), games: gamesAfter },
    verdict,
    pFewer,
    pMore,
    targetRate,
    opportunitiesNeeded:
      verdict === 'too early to tell' && before.opportunities > 0
        ? chancesNeeded(before, targetRate, settings)
        : null,
  };
}

/**
 * Whether a closed point opens again: since it was closed, the duty was missed in at least two games, and
 * more often than peers beyond chance (`pAgainstPeers`, the stratified exact test over those games only, at
 * most `level`). One miss alone is shown but opens nothing: everyone misses one.
 */
export function recursAfterClosing(
  gamesWithMissesSince: number,
  pAgainstPeers: number,
  level = defaultFollowUpSettings.level,
): boolean {
  return gamesWithMissesSince >= 2 && pAgainstPeers <= level;
}
