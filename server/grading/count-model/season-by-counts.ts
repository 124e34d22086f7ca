import type { ClipMark } from '../clip-marks.ts';
import { observersByOfficial } from '../connectedness.ts';
import { fitWithClips } from '../fit-with-clips.ts';
import { groupBy } from '../group-by.ts';
import { borrowing } from '../last-season.ts';
import type { SeasonSpread } from '../season-fit.ts';
import {
  type FittedSeason,
  groupNumbers,
  type SeasonSettings,
  type SeasonStandings,
  standingsFrom,
} from '../season-model.ts';
import { countNotes, type FactorWords } from '../season-notes.ts';
import type { CountedGame, GradedGame } from '../season-rows.ts';
import { severities } from '../severity.ts';
import { variancesKnown } from '../variance-uncertainty.ts';
import { countGradesFrom } from './count-grades.ts';
import type { CountModelFit } from './count-model.ts';
import { type CountRow, countRows } from './count-rows.ts';
import { countLeanings } from './count-severity.ts';
import { countShares } from './count-shares.ts';
import { heldOutCounts } from './held-out-counts.ts';
import {
  countFactorOf,
  countFactors,
  countUncertainty,
  expit,
  fitSeasonCounts,
  logit,
} from './season-counts.ts';

/**
 * Grades a season as `gradeWholeSeason` does, by the model of counts: same standings, same units, so that a reader
 * needs to know of the model only what it is called.
 */
export function gradeSeasonByCounts(
  reports: readonly GradedGame[],
  settings: SeasonSettings,
  games: readonly CountedGame[] = reports,
): SeasonStandings {
  return fitSeasonByCounts(reports, settings).standings(games);
}

/** The first half of `gradeSeasonByCounts`. */
export function fitSeasonByCounts(
  reports: readonly GradedGame[],
  settings: SeasonSettings,
  clips: readonly ClipMark[] | null = null,
  lastSeason: readonly GradedGame[] | null = null,
): FittedSeason {
  const rows = countRows(reports);
  const {
    result,
    groups,
    clips: taken,
  } = fitWithClips(rows, clips, (_, marks) =>
    borrowing(
      fitSeasonCounts(rows, marks),
      lastSeason && (() => fitSeasonCounts(countRows(lastSeason))),
      countFactors.official,
      (past, variance) => fitSeasonCounts(rows, marks, past, variance),
    ),
  );
  const fit = result.fitted ? result : null;
  const observersOf = observersByOfficial(groups);
  return {
    heldOut: () => (fit ? heldOutCounts(fit, rows) : []),
    shares: () => fit && countShares(fit, rows, observersOf, result.borrowed?.rows),
    standings(games) {
      const groupOf = groupNumbers(groups, 'officials');
      const notes = result.fitted
        ? countNotes(result, ofDutyClasses)
        : [`no adjusted grades: ${whyNone(reports, result.reason)}`];
      const uncertainty = fit && settings.draws !== 0 ? countUncertainty(fit) : variancesKnown;
      const adjust = fit && countGradesFrom(fit, rows, observersOf, uncertainty);
      const adjusted: Parameters<typeof standingsFrom>[3] =
        adjust &&
        ((position, members) => (groupOf.has(members[0]!.official) ? adjust(position, members) : null));
      return {
        standings: standingsFrom(games, settings, groups, adjusted, notes[0]),
        observers: severities(
          rows,
          fit && countLeanings(fit, rows, groups, uncertainty),
          groupNumbers(groups, 'observers'),
        ),
        spread: fit && spreadOf(fit, rows),
        groups,
        notes,
        clips: taken,
        lastSeason: result.borrowed?.taken ?? null,
      };
    },
  };
}

const untold = 'nothing tells whether an official does better in dear duties than in the others';
/** Words of the factors of duties; what a position's own level is told by says nothing to anybody. */
const ofDutyClasses: Readonly<Record<string, FactorWords>> = {
  [countFactors.official]: {
    'no variation':
      'as far as can be told, officials of a position differ by no more than chance over all duties together',
  },
  [countFactors.officialInClass]: {
    'one level': untold,
    'same as another': untold,
    'no variation': 'as far as can be told, each official is as good in dear duties as in the others',
  },
  [countFactors.classInPosition]: { 'one level': null, 'same as another': null },
};

/** What one standard deviation of each makes of the mean loss, in points. */
function spreadOf(fit: CountModelFit, rows: readonly CountRow[]): SeasonSpread {
  const weight = rows.reduce((sum, row) => sum + row.weight, 0);
  const loss = rows.reduce((sum, row) => sum + row.weight * row.expected, 0) / weight;
  const points = (factor: Parameters<typeof countFactorOf>[1]) => {
    const { variance } = countFactorOf(fit, factor);
    // Exactly 0, whatever rounding makes of the way there and back.
    return variance > 0 ? 100 * (expit(logit(loss) + Math.sqrt(variance)) - loss) : 0;
  };
  // Chance in one report: that of counts of its weights.
  const byChance = [
    ...groupBy(rows, ({ official, game, observer }) => `${official}\n${game}\n${observer}`).values(),
  ].map((report) => {
    const whole = report.reduce((sum, row) => sum + row.weight, 0);
    return report.reduce((sum, row) => {
      return sum + ((row.weight / whole) ** 2 * row.expected * (1 - row.expected)) / row.trials;
    }, 0);
  });
  return {
    official: points('official'),
    observer: points('observer'),
    game: points('game'),
    officialInGame: points('officialInGame'),
    observerInPosition: points('observerInPosition'),
    residual: 100 * Math.sqrt(byChance.reduce((sum, value) => sum + value, 0) / byChance.length),
  };
}

/** The model's reason in the words of the trade. */
function whyNone(reports: readonly GradedGame[], reason: string): string {
  const counts = reports.flatMap((report) =>
    report.counts.filter(({ weight, opportunities }) => weight > 0 && opportunities > 0),
  );
  if (counts.length === 0) return 'no report has a counted opportunity';
  if (counts.every(({ opportunities, met, cost = opportunities - met }) => cost === 0)) {
    return 'no report holds a miss that counts, so nothing tells officials apart';
  }
  if (counts.every(({ opportunities, met, cost = opportunities - met }) => cost >= opportunities)) {
    return 'every chance was missed, so nothing tells officials apart';
  }
  return reason;
}
