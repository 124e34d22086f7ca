import { type Combination, type EffectsFit, levelErrors } from './prediction.ts';

/**
 * Borrowing strength from the season before: what it showed of an official stands beside this season's reports as one
 * more, uncertain, sight of them. How like themselves officials stay from one season to the next is told by those who
 * served in both.
 */

/** What a season's reports say of its officials: effects, on the scale of the model that fitted it. */
export interface OfficialEffects {
  /** Standard deviation between officials. */
  readonly spread: number;
  readonly of: ReadonlyMap<string, { readonly effect: number; readonly reliability: number }>;
}

/** An official's season before, as it is seen on the scale of this one: the effect of this season plus an error. */
export interface PastRow {
  readonly official: string;
  readonly value: number;
  /** Of the error: what the season before left open, and what may have changed since. */
  readonly variance: number;
}

/** What was taken in of the season before, or why nothing. */
export interface LastSeasonTaken {
  /** Officials who served in both seasons, and who only in this one. */
  readonly officials: number;
  readonly newcomers: number;
  /** How like themselves officials stayed, 0 to 1, and its standard error; what was assumed, where nothing was taken in. */
  readonly correlation: number;
  readonly correlationError: number;
  /** In plain words; null where the season before was taken in. */
  readonly reason: string | null;
}

const nothingTaken = (reason: string): LastSeasonTaken => ({
  officials: 0,
  newcomers: 0,
  correlation: 0,
  correlationError: 0,
  reason,
});

/** Of fewer, nothing tells how like themselves officials stay: our own choice. */
export const fewestInBoth = 12;

/** The fixed column of the rows: the staff as a whole may have been graded higher or lower a season before. */
export const lastSeasonColumn = 'season before';

/** The officials' effects of a fit, with how much is known of each. */
export function officialEffects(fit: EffectsFit, factor: string): OfficialEffects {
  const { levels, effects, variance } = fit.factors.find(({ name }) => name === factor)!;
  const { reliabilities } = levelErrors(fit, factor);
  return {
    spread: Math.sqrt(variance),
    of: new Map(
      levels.map((level, at) => [String(level), { effect: effects[at]!, reliability: reliabilities[at]! }]),
    ),
  };
}

/** In standard deviations between officials: what was seen of one before any drawing toward the mean. */
interface Sight {
  value: number;
  /** Variance of its error. */
  error: number;
}

/**
 * An estimate drawn toward the mean by its reliability r is r times a plain one, whose error variance is (1 − r)/r of
 * the variance between officials (Garrick, Taylor and Fernando 2009, "Deregressing estimated breeding values",
 * Genetics Selection Evolution 41:55).
 */
function sightOf({ spread, of }: OfficialEffects, official: string): Sight | null {
  const own = of.get(official);
  if (!own || !(spread > 0) || !(own.reliability > 0.01)) return null;
  const reliability = Math.min(own.reliability, 0.999);
  return { value: own.effect / spread / reliability, error: (1 - reliability) / reliability };
}

/**
 * The rows of the season before. With θ an official's effect in this season and ρ the correlation over seasons, what was
 * seen of them before is y = ρθ + a change of variance (1 − ρ²) + error, so that y/ρ is a sight of θ.
 */
export function pastRows(
  now: OfficialEffects,
  before: OfficialEffects,
): { rows: PastRow[]; taken: LastSeasonTaken } {
  const officials = [...now.of.keys()];
  const both = officials.flatMap((official) => {
    const [own, past] = [sightOf(now, official), sightOf(before, official)];
    return own && past ? [{ official, own, past }] : [];
  });
  const none = (reason: string) => ({ rows: [], taken: nothingTaken(reason) });
  if (!(now.spread > 0))
    return none('as far as can be told, officials of this season differ by no more than chance');
  if (!(before.spread > 0))
    return none('as far as can be told, officials of that season differed by no more than chance');
  if (both.length < fewestInBoth)
    return none(
      `${both.length === 1 ? 'one official was' : `${both.length} officials were`} graded in both, and ${fewestInBoth} or more tell how like themselves officials stay`,
    );
  const { mean: correlation, error: correlationError } = correlationOf(both);
  return {
    rows: both.map(({ official, past }) => ({
      official,
      value: (now.spread * past.value) / correlation,
      variance: (now.spread ** 2 * (1 - correlation ** 2 + past.error)) / correlation ** 2,
    })),
    taken: {
      officials: both.length,
      newcomers: officials.length - both.length,
      correlation,
      correlationError,
      reason: null,
    },
  };
}

const gridOf = 200;

/**
 * Mean and standard error of the correlation given the sights of both seasons, bivariate normal, every value from 0 to 1
 * being as likely beforehand: of few officials the highest likelihood is as good as anywhere.
 */
export function correlationOf(both: readonly { own: Sight; past: Sight }[]): { mean: number; error: number } {
  const centred = (of: (one: { own: Sight; past: Sight }) => Sight) => {
    const weights = both.map((one) => 1 / (1 + of(one).error));
    const sum = weights.reduce((total, weight) => total + weight, 0);
    const mean = both.reduce((total, one, at) => total + weights[at]! * of(one).value, 0) / sum;
    return both.map((one) => ({ value: of(one).value - mean, variance: 1 + of(one).error }));
  };
  const now = centred(({ own }) => own);
  const then = centred(({ past }) => past);
  const logs = Array.from({ length: gridOf }, (_, at) => {
    const correlation = (at + 0.5) / gridOf;
    return now.reduce((sum, a, i) => {
      const b = then[i]!;
      const determinant = a.variance * b.variance - correlation ** 2;
      const square =
        (b.variance * a.value ** 2 - 2 * correlation * a.value * b.value + a.variance * b.value ** 2) /
        determinant;
      return sum - (Math.log(determinant) + square) / 2;
    }, 0);
  });
  const highest = Math.max(...logs);
  let [whole, first, second] = [0, 0, 0];
  for (const [at, log] of logs.entries()) {
    const correlation = (at + 0.5) / gridOf;
    const weight = Math.exp(log - highest);
    whole += weight;
    first += weight * correlation;
    second += weight * correlation ** 2;
  }
  const mean = first / whole;
  return { mean, error: Math.sqrt(Math.max(0, second / whole - mean ** 2)) };
}

/** What a fit took in of the season before; `rows` are none where nothing was. */
interface Borrowed {
  readonly rows: readonly PastRow[];
  readonly taken: LastSeasonTaken;
}

type Fitted = (EffectsFit & { fitted: true }) | { fitted: false; reason: string };

/**
 * Fits a season once more with what the season before showed beside its reports; as it is where that says nothing.
 *
 * @param first the fit of this season alone
 * @param before fits the season before; null where this one goes by itself
 * @param factor of officials, in both
 * @param again fits with these rows, the variance between officials as this season alone has it
 */
export function borrowing<Result extends Fitted>(
  first: Result,
  before: (() => Fitted) | null,
  factor: string,
  again: (past: readonly PastRow[], variance: number) => Result,
): Result & { borrowed: Borrowed | null } {
  if (!before) return { ...first, borrowed: null };
  const none = (reason: string) => ({ ...first, borrowed: { rows: [], taken: nothingTaken(reason) } });
  if (!first.fitted) return none('this season has no adjusted grades yet');
  const past = before();
  if (!past.fitted) return none('that season has no adjusted grades');
  const now = officialEffects(first, factor);
  const borrowed = pastRows(now, officialEffects(past, factor));
  if (borrowed.rows.length === 0) return { ...first, borrowed };
  const fit = again(borrowed.rows, now.spread ** 2);
  return fit.fitted ? { ...fit, borrowed } : none(`grades cannot be found with it: ${fit.reason}`);
}

/** What gives the row of an official's season before, as parts of the uncertainty of a grade are told by it. */
export function seenBefore(
  past: readonly PastRow[],
  factor: string,
): (official: string) => { combination: Combination; variance: number } | null {
  const of = new Map(past.map((row) => [row.official, row]));
  return (official) => {
    const row = of.get(official);
    if (!row) return null;
    return {
      combination: { fixed: { [lastSeasonColumn]: 1 }, effects: [{ factor, level: official }] },
      variance: row.variance,
    };
  };
}
