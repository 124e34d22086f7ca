import { effectOf, type Finding } from '../../duties/finding.ts';
import type { MarkedFinding } from '../../duties/marks-of-cells.ts';
import {
  type CompiledRubric,
  type CrewAtWork,
  forEachGameOpportunity,
  forEachOpportunity,
} from '../../duties/opportunities.ts';
import { countOpportunities, type LoggedPlay } from '../../duties/opportunity-counts.ts';
import { type Watched, watchedOn } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';
import type { Agreement } from '../../grading/agreement/agreement.ts';
import { weightedKappa } from '../../grading/agreement/kappa.ts';
import { wilsonInterval } from '../../patterns/wilson-interval.ts';

/** How often two observers of one game agreed on one duty (or on all of them). */
export interface DutyAgreement {
  readonly dutyKey: string;
  /** Chances that both watched and could tell. */
  readonly judged: number;
  readonly bothMet: number;
  readonly bothNotMet: number;
  /** Not met in the first report only. */
  readonly onlyFirst: number;
  readonly onlySecond: number;
  /** Share of `judged` on which both said the same, with Wilson's 95 % interval; null without one judged. */
  readonly agreed: { readonly share: number; readonly low: number; readonly high: number } | null;
  /** Cohen's kappa of met and not met, with its interval, or why there is none. */
  readonly kappa: Agreement;
}

interface TwoReports {
  readonly overall: DutyAgreement;
  /** In the order of the rubric, duties with an opportunity. */
  readonly duties: readonly DutyAgreement[];
}

type Table = [[number, number], [number, number]];

/** One observer's report as it is compared: what they marked, and whom they watched (null: not said, so everybody). */
export interface SeenReport {
  readonly marks: readonly MarkedFinding[];
  readonly watched: Watched | null;
}

/**
 * Lays two reports of one game over the chances that count in both: watched by both observers, and of a duty of which
 * the log decides enough. A chance without a mark counts as met; those that either observer could not tell are left
 * out, and so is a mark on anything else. A duty of the whole game is compared once, on whatever plays it was marked.
 */
export function compareReports(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  rubric: CompiledRubric,
  first: SeenReport,
  second: SeenReport,
  decidedShareLeast: number,
): TwoReports {
  const cell = (of: { playId: string; position: string; dutyKey: string }) =>
    `${of.playId}\n${of.position}\n${of.dutyKey}`;
  const ofTheGame = new Set(
    rubric.duties.filter(({ duty }) => duty.per === 'game').map(({ duty }) => duty.key),
  );
  const logged = new Set(plays.map((play) => play.id));
  const laid = (marks: readonly MarkedFinding[]) =>
    marks
      .filter((mark) => logged.has(mark.playId))
      .map((mark) => (ofTheGame.has(mark.dutyKey) ? { ...mark, playId: wholeGame } : mark));
  const [firstLaid, secondLaid] = [laid(first.marks), laid(second.marks)];
  const firstAt = findingsByCell(firstLaid, cell);
  const secondAt = findingsByCell(secondLaid, cell);
  const tables = new Map<string, Table>(
    rubric.duties.map(({ duty }) => [
      duty.key,
      [
        [0, 0],
        [0, 0],
      ],
    ]),
  );
  const ids = plays.map((play) => play.id);
  const watchedBy = [first, second].map(({ watched }) => watched && watchedOn(watched, ids));
  const countedBy = watchedBy.map((seen) => {
    const counting = { watchedOn: seen ?? undefined, decidedShareLeast };
    const { counts } = countOpportunities(plays, crew, rubric, [], counting);
    return new Set(
      counts.filter((row) => row.opportunities > 0).map((row) => `${row.position}\n${row.dutyKey}`),
    );
  });
  const judge = (playId: string, position: Position, dutyKey: string) => {
    if (countedBy.some((rows) => !rows.has(`${position}\n${dutyKey}`))) return;
    if (playId !== wholeGame && watchedBy.some((seen) => seen && !seen(playId, position))) return;
    const at = cell({ playId, position, dutyKey });
    const table = tables.get(dutyKey);
    const [one, other] = [column(firstAt.get(at)), column(secondAt.get(at))];
    if (table && one !== undefined && other !== undefined) table[one][other]++;
  };
  for (const { id, play } of plays) {
    forEachOpportunity(play, crew, rubric, (position, duty) => judge(id, position, duty.key));
  }
  if (plays.length > 0)
    forEachGameOpportunity(crew, rubric, (position, duty) => judge(wholeGame, position, duty.key));
  const all: Table = [
    [0, 0],
    [0, 0],
  ];
  for (const table of tables.values()) {
    for (const row of [0, 1] as const) for (const at of [0, 1] as const) all[row][at] += table[row][at];
  }
  return {
    overall: agreementOf('', all),
    duties: [...tables].map(([key, table]) => agreementOf(key, table)).filter((duty) => duty.judged > 0),
  };
}

/** Stands for a play where a duty of the whole game is marked. */
const wholeGame = 'the whole game';

/** The finding of each cell; of several the one not met, as the counts take it. */
function findingsByCell(marks: readonly MarkedFinding[], cell: (mark: MarkedFinding) => string) {
  const findings = new Map<string, Finding>();
  for (const mark of marks) {
    const before = findings.get(cell(mark));
    if (before === undefined || effectOf(before) !== 'not met') findings.set(cell(mark), mark.finding);
  }
  return findings;
}

/** 0 met, 1 not met, undefined when the observer could not tell. */
function column(finding: Finding | undefined): 0 | 1 | undefined {
  if (finding === undefined) return 0;
  const effect = effectOf(finding);
  return effect === 'not counted' ? undefined : effect === 'met' ? 0 : 1;
}

function agreementOf(dutyKey: string, table: Table): DutyAgreement {
  const [[bothMet, onlySecond], [onlyFirst, bothNotMet]] = table;
  const judged = bothMet + onlySecond + onlyFirst + bothNotMet;
  const same = bothMet + bothNotMet;
  const agreed = judged > 0 ? { share: same / judged, ...wilsonInterval(same, judged) } : null;
  return { dutyKey, judged, bothMet, bothNotMet, onlyFirst, onlySecond, agreed, kappa: weightedKappa(table) };
}
