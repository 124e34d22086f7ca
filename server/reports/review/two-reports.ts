import { effectOf, type Finding } from '../../duties/finding.ts';
import { type CompiledRubric, type CrewAtWork, forEachOpportunity } from '../../duties/opportunities.ts';
import type { LoggedPlay, MarkedFinding } from '../../duties/opportunity-counts.ts';
import type { Agreement } from '../../grading/agreement/agreement.ts';
import { weightedKappa } from '../../grading/agreement/kappa.ts';
import { wilsonInterval } from '../../patterns/wilson-interval.ts';

/** How often two observers of one game agreed on one duty (or on all of them). */
export interface DutyAgreement {
  readonly dutyKey: string;
  /** Opportunities that both could tell. */
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

export interface TwoReports {
  readonly overall: DutyAgreement;
  /** In the order of the rubric, duties with an opportunity. */
  readonly duties: readonly DutyAgreement[];
}

type Table = [[number, number], [number, number]];

/**
 * Lays two reports of one game over the same opportunities. An opportunity without a mark counts as met; those that
 * either observer could not tell are left out. A mark that made its own opportunity counts as one for both.
 */
export function compareReports(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  rubric: CompiledRubric,
  first: readonly MarkedFinding[],
  second: readonly MarkedFinding[],
): TwoReports {
  const cell = (of: { playId: string; position: string; dutyKey: string }) =>
    `${of.playId}\n${of.position}\n${of.dutyKey}`;
  const firstAt = new Map(first.map((mark) => [cell(mark), mark.finding]));
  const secondAt = new Map(second.map((mark) => [cell(mark), mark.finding]));
  const tables = new Map<string, Table>(
    rubric.duties.map(({ duty }) => [
      duty.key,
      [
        [0, 0],
        [0, 0],
      ],
    ]),
  );
  const seen = new Set<string>();
  const judge = (playId: string, position: string, dutyKey: string) => {
    const at = cell({ playId, position, dutyKey });
    if (seen.has(at)) return;
    seen.add(at);
    const table = tables.get(dutyKey);
    const [one, other] = [column(firstAt.get(at)), column(secondAt.get(at))];
    if (table && one !== undefined && other !== undefined) table[one][other]++;
  };
  for (const { id, play } of plays) {
    forEachOpportunity(play, crew, rubric, (position, duty) => judge(id, position, duty.key));
  }
  const logged = new Set(plays.map((play) => play.id));
  for (const mark of [...first, ...second]) {
    if (logged.has(mark.playId)) judge(mark.playId, mark.position, mark.dutyKey);
  }
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
