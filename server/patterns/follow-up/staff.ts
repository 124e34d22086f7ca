import { permutedShare } from '../game-permutation.ts';
import { type FollowUp, followUpLevel, shown } from './follow-up.ts';
import { type DatedCount, levelsNeeded, looksOf } from './looks.ts';
import { sharesOf } from './official-spread.ts';
import { severityOf } from './severity.ts';
import {
  changeOfOthers,
  expectedMisses,
  gameFactor,
  informationAt,
  type StaffCell,
  type StaffLevel,
  staffLevel,
  varianceOf,
} from './staff-level.ts';
import { type LaterMisses, laterMisses } from './staff-unchanged.ts';

/** Chance that a fall to a half should have of being seen before silence counts as an answer. */
const power = 0.8;
/** With fewer games on a side, games cannot be exchanged often enough to tell chance from change. */
const fewestGames = 4;

/** Counts of a whole staff around the days between which something was taught. */
interface Taught {
  /** Everybody's counts at all duties, cuts left out. */
  readonly rows: readonly DatedCount[];
  /** The duties taught: none of them tells what is usual. */
  readonly duties: ReadonlySet<string>;
  /** Games up to this day, YYYY-MM-DD, count as before. */
  readonly until: string;
  /** Games later than this day count as after; those between count as neither. */
  readonly from: string;
  /** Last week with a game of the season that is looked at. */
  readonly lastWeek: number;
  /** Whose misses are followed; everybody's when left out. */
  readonly of?: (row: DatedCount) => boolean;
}

/**
 * Did the whole staff miss a duty less after it was taught? The method of `follow-up.ts`, for counts that are large.
 *
 * *What is compared.* The duty against all duties that were not taught, as the same observers mark in the same weeks: what
 * is milder marking, a better crew of the week or a staff that grows better at everything is no effect of the lesson. How
 * far those moved, and how unevenly, is what the duty might have moved by itself (`changeOfOthers`).
 *
 * *Selection.* A duty is taught because it stood high. The games after are held against what is likely had nothing
 * changed, given the count before and how duties differ (empirical Bayes), and with the count before taken at its word;
 * the larger p-value counts. *Games* differ and plays of one game hang together, so whole games are exchanged too
 * (`permutedShare`), and the largest of the three counts.
 *
 * *Looks*, one after each week with a game, spend one error (`looks.ts`). Several duties of one program share it: of all of
 * them together "fewer" is wrongly said of any with probability 0.05 at most, and so is "more".
 *
 * Beside the 61 points of `own-level.ts` a staff's counts are too exact, so levels are normal here, and misses binomial.
 */
export function followTaught(taught: Taught): Map<string, FollowUp> {
  const { until, from } = taught;
  const periodOf = ({ day }: DatedCount) => (day <= until ? 'before' : day > from ? 'after' : null);
  const dated = taught.rows.flatMap((row) => {
    const period = row.opportunities > 0 ? periodOf(row) : null;
    return period ? [{ ...row, period, observer: `${row.observer}\n${period}` }] : [];
  });
  const others = dated.filter(({ duty }) => !taught.duties.has(duty));
  const severity = severityOf(others);
  const sums = { misses: 0.5, weighed: 1 };
  for (const { observer, misses, opportunities } of others) {
    sums.misses += misses;
    sums.weighed += opportunities * Math.exp(severity.factors[observer] ?? 0);
  }
  const usual = Math.log(sums.misses / Math.max(sums.weighed - sums.misses, 0.5));
  const followed = dated.filter(taught.of ?? (() => true));
  const cells = (duty: string, period: 'before' | 'after') =>
    cellsOf(
      followed.filter((row) => row.duty === duty && row.period === period),
      ({ observer }) => usual + (severity.factors[observer] ?? 0),
    );
  const levelsOfOthers = [...new Set(others.map(({ duty }) => duty))].map((duty) =>
    (['before', 'after'] as const).flatMap((period) => {
      const own = cells(duty, period);
      return own.length > 0 ? [staffLevel(own)] : [];
    }),
  );
  const otherLevels = levelsOfOthers.flat();
  const shift = changeOfOthers(
    levelsOfOthers.flatMap(([before, after]) => (before && after ? [{ before, after }] : [])),
    gameFactor(otherLevels, []),
  );
  const shares = sharesOf(
    otherLevels.map((level) => ({
      misses: level.misses,
      usual: Math.max(1e-6, level.misses / Math.exp(Math.max(-5, Math.min(5, level.level)))),
      variance: varianceOf(level, 1, severity),
    })),
  );
  const level = followUpLevel / Math.max(1, taught.duties.size);
  const result = new Map<string, FollowUp>();
  for (const duty of taught.duties) {
    const before = cells(duty, 'before');
    const after = cells(duty, 'after').map((cell) => ({ ...cell, usual: cell.usual + shift.mean }));
    const found = nothingSaid(before, after);
    const reason =
      before.length === 0
        ? 'There was no chance before, so there is nothing to compare with.'
        : others.length === 0
          ? 'Every duty with a chance was taught, so nothing tells what is usual.'
          : null;
    if (reason !== null) {
      result.set(duty, { ...found, verdict: 'cannot be told', reason });
      continue;
    }
    const early = staffLevel(before);
    // Until there are games after, those before stand for what they will be like.
    const later = after.length > 0 ? after : before;
    const late = staffLevel(later);
    const factor = gameFactor(
      after.length > 0 ? [early, late] : [early],
      otherLevels.length > 0 ? otherLevels : [early],
    );
    const predicted = laterMisses(
      { level: early.level, variance: varianceOf(early, factor, severity) },
      shares,
      later,
      (at) =>
        (factor - 1) / informationAt(later, at) + severity.variance * late.observerShare + shift.variance,
    );
    result.set(duty, judged(found, early, before, after, predicted, { ...taught, level }));
  }
  return result;
}

function judged(
  found: FollowUp,
  early: StaffLevel,
  before: readonly StaffCell[],
  after: readonly StaffCell[],
  predicted: LaterMisses,
  { lastWeek, level }: { lastWeek: number; level: number },
): FollowUp {
  const unchangedRate = predicted.rate;
  const result = { ...found, unchangedRate, targetRate: unchangedRate / 2 };
  const weeks = [...before, ...after].map(({ week }) => week);
  const looks = looksOf(after.map(asCount), early.opportunities, Math.min(...weeks), lastWeek);
  result.looks = looks.length;
  if (after.length > 0) {
    const exchanged = exchangedGames(before, after);
    const misses = found.after.events;
    result.pFewer = Math.max(predicted.fewer(misses), exchanged.fewer);
    result.pMore = Math.max(predicted.more(misses), exchanged.more);
  }
  if (looks.length === 0 || Math.min(early.games, found.after.games) < fewestGames) return result;
  result.level = levelsNeeded(looks, level).latest;
  if (result.pFewer <= result.level) return { ...result, verdict: 'fewer misses' };
  if (result.pMore <= result.level) return { ...result, verdict: 'more misses' };
  if (predicted.powerToSee(unchangedRate / 2, result.level) >= power)
    return { ...result, verdict: 'no change shown' };
  return result;
}

/** Games before and after exchanged for one another, each by what it has more than the duty's level over both gives. */
function exchangedGames(before: readonly StaffCell[], after: readonly StaffCell[]) {
  const { level } = staffLevel([...before, ...after]);
  const excess = (cells: readonly StaffCell[]) => {
    const games = new Map<string, number>();
    for (const cell of cells)
      games.set(cell.game, (games.get(cell.game) ?? 0) + cell.misses - expectedMisses([cell], level));
    return [...games].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, more]) => more);
  };
  const [early, late] = [excess(before), excess(after)];
  return { fewer: permutedShare(early, late), more: permutedShare(late, early) };
}

function cellsOf(rows: readonly DatedCount[], usualOf: (row: DatedCount) => number): StaffCell[] {
  const cells = new Map<string, { -readonly [key in keyof StaffCell]: StaffCell[key] }>();
  for (const row of rows) {
    const key = `${row.game}\n${row.observer}`;
    const cell = cells.get(key);
    if (cell) {
      cell.opportunities += row.opportunities;
      cell.misses += row.misses;
    } else {
      const { game, week, day, observer, opportunities, misses } = row;
      cells.set(key, { game, week, day, observer, opportunities, misses, usual: usualOf(row) });
    }
  }
  return [...cells.values()];
}

const asCount = (cell: StaffCell): DatedCount => ({
  ...cell,
  official: '',
  position: '',
  crew: '',
  duty: '',
  model: 0,
});

function nothingSaid(before: readonly StaffCell[], after: readonly StaffCell[]): FollowUp {
  return {
    before: shown(before),
    after: { ...shown(after), games: new Set(after.map(({ game }) => game)).size },
    verdict: 'too early to tell',
    reason: null,
    unchangedRate: null,
    pFewer: 1,
    pMore: 1,
    level: 0,
    looks: 0,
    targetRate: null,
    opportunitiesNeeded: null,
  };
}
