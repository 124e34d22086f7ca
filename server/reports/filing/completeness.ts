import type { Lacking } from '../../duties/crew-without-duty.ts';
import { effectOf, type Finding } from '../../duties/finding.ts';
import type { StrayObservation } from '../../duties/marks-of-cells.ts';
import type { OpportunityCount } from '../../duties/opportunity-counts.ts';
import type { Watched } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';

/** One thing that keeps a report from being filed, and where to put it right. */
export interface Missing {
  readonly what: 'crew' | 'watched' | 'play log' | 'opportunities' | 'comment' | 'conflict' | 'mark';
  readonly message: string;
  readonly playId?: string;
  readonly observationId?: string;
  readonly position?: Position;
}

interface ReportAsEntered {
  readonly crewConfirmed: boolean;
  readonly crew: readonly Position[];
  /** Null: the observer has not said yet. */
  readonly watched: Watched | null;
  readonly plays: readonly { readonly id: string; readonly number: number }[];
  readonly observations: readonly {
    readonly id: string;
    readonly playId: string;
    readonly position: Position;
    readonly dutyKey: string;
    readonly finding: Finding;
    readonly comment: string;
  }[];
  readonly counts: readonly OpportunityCount[];
  readonly stray: readonly StrayObservation[];
  /** Changes from two devices that the observer has not yet chosen between. */
  readonly openConflicts: number;
  /** Whom the rubric expects nothing of in this crew: no play log helps them. */
  readonly lacking: Lacking | undefined;
}

/** What is still missing before a report can be filed, in the order an observer would put it right. */
export function missingIn(report: ReportAsEntered): Missing[] {
  const missing: Missing[] = [];
  const playNumber = new Map(report.plays.map((play) => [play.id, play.number]));
  const label = (playId: string) => `play ${playNumber.get(playId) ?? '(removed)'}`;

  if (report.crew.length === 0) {
    missing.push({
      what: 'crew',
      message: 'Nobody is entered as working this game; enter the working crew.',
    });
  } else if (!report.crewConfirmed) {
    missing.push({ what: 'crew', message: 'Confirm who really worked this game.' });
  }
  if (report.watched === null) {
    missing.push({ what: 'watched', message: 'Say whom you watched: everybody, or which positions.' });
  }
  if (report.openConflicts > 0) {
    const marks = report.openConflicts === 1 ? '1 change was' : `${report.openConflicts} changes were`;
    missing.push({ what: 'conflict', message: `${marks} entered differently on two devices; choose one.` });
  }
  if (report.lacking) missing.push({ what: 'opportunities', message: report.lacking.sentence });
  if (report.plays.length === 0) {
    missing.push({ what: 'play log', message: 'The play log is empty; enter or import the plays.' });
  } else {
    // Few for somebody is a warning (`whole.ts`); none for anybody is no report.
    const sum = report.counts.reduce((all, count) => all + count.opportunities - count.notCounted, 0);
    if (sum === 0 && report.crew.length > 0 && !report.lacking) {
      missing.push({
        what: 'opportunities',
        message:
          'No opportunity counts for anybody: log the facts that decide what was owed, and say whom you watched.',
      });
    }
  }
  for (const stray of report.stray) {
    missing.push({
      what: 'mark',
      playId: stray.playId,
      position: stray.position,
      observationId: report.observations.find(
        (mark) =>
          mark.playId === stray.playId && mark.position === stray.position && mark.dutyKey === stray.dutyKey,
      )?.id,
      message: `A mark on the ${stray.position} at ${label(stray.playId)} cannot be counted: ${stray.reason}.`,
    });
  }
  const inOrder = report.observations
    .filter((mark) => effectOf(mark.finding) === 'not met' && mark.comment.trim() === '')
    .sort((a, b) => (playNumber.get(a.playId) ?? 0) - (playNumber.get(b.playId) ?? 0));
  for (const mark of inOrder) {
    missing.push({
      what: 'comment',
      playId: mark.playId,
      observationId: mark.id,
      position: mark.position,
      message: `Say what happened: the ${mark.finding} mark on the ${mark.position} at ${label(mark.playId)} has no comment.`,
    });
  }
  return missing;
}
