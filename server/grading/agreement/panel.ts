import { fitCountModel } from '../count-model/count-model.ts';
import { groupBy } from '../group-by.ts';
import { levelErrors } from '../prediction.ts';
import type { Agreement } from './agreement.ts';
import { exactShare, type Share } from './exact-share.ts';
import { weightedKappa } from './kappa.ts';
import { krippendorffAlpha } from './krippendorff.ts';

/** What one observer found of one duty on one clip. */
export interface PanelMark {
  readonly clip: number;
  readonly duty: string;
  readonly observer: string;
  readonly finding: 'met' | 'not met' | 'not seen';
}

/** One duty on one clip, over the panel. */
interface PanelUnit {
  readonly clip: number;
  readonly duty: string;
  readonly met: number;
  readonly notMet: number;
  readonly notSeen: number;
  /** A third or more of those who judged it judged it otherwise than the rest; of four or more. */
  readonly split: boolean;
}

interface DutyAgreement {
  readonly duty: string;
  readonly clips: number;
  /**
   * Krippendorff's alpha of done and missed, over clips and whichever observers could tell; of two observers Cohen's kappa,
   * over clips that both judged.
   */
  readonly agreement: Agreement;
}

/** An observer beside the others of the panel. */
interface PanelObserver {
  readonly observer: string;
  /** Duties judged, and those that could not be seen. */
  readonly judged: number;
  readonly notSeen: number;
  readonly missed: number;
  /**
   * Of a hundred chances of which the panel as a whole marks half as missed, how many this observer would; from a logistic
   * model of observers and chances, with a 90 % interval. Null where nobody differs, or the marks are too few.
   */
  readonly severity: { readonly of100: number; readonly low: number; readonly high: number } | null;
  /** Of what more than half of at least two others marked as missed, what this observer marked so too: keenness. */
  readonly keen: Share | null;
  /** Of what no other of at least two marked as missed, what this observer did: alone against the panel. */
  readonly alone: Share | null;
}

export interface Panel {
  readonly units: readonly PanelUnit[];
  readonly overall: Agreement;
  readonly duties: readonly DutyAgreement[];
  readonly observers: readonly PanelObserver[];
}

const fewestToSplit = 4;
const fewestClips = 5;
const confidence = 0.9;
const z = 1.6448536269514722;
const expit = (x: number) => 1 / (1 + Math.exp(-x));

/** How far a panel that marked the same clips agrees, and where each observer stands in it. */
export function panelOf(marks: readonly PanelMark[]): Panel {
  const byUnit = [...groupBy(marks, ({ clip, duty }) => `${clip}\n${duty}`).values()];
  const observers = [...new Set(marks.map(({ observer }) => observer))].sort();
  const valuesOf = (unit: readonly PanelMark[]) =>
    observers.map((observer) => {
      const finding = unit.find((mark) => mark.observer === observer)?.finding;
      return finding === 'met' ? 0 : finding === 'not met' ? 1 : null;
    });
  const severity = severities(marks);
  return {
    units: byUnit.map(unitOf),
    overall: agreementOf(byUnit.map(valuesOf)),
    // Resampled, one or two clips would give an interval of no width.
    duties: [...groupBy(byUnit, ([first]) => first!.duty)].map(([duty, units]) => ({
      duty,
      clips: units.length,
      agreement:
        units.length < fewestClips
          ? { value: null, reason: `fewer than ${fewestClips} clips` }
          : agreementOf(units.map(valuesOf)),
    })),
    observers: observers.map((observer) => ({
      observer,
      ...besideOthers(byUnit, observer),
      severity: severity.get(observer) ?? null,
    })),
  };
}

function unitOf(marks: readonly PanelMark[]): PanelUnit {
  const { clip, duty } = marks[0]!;
  const count = (finding: PanelMark['finding']) => marks.filter((mark) => mark.finding === finding).length;
  const [met, notMet, notSeen] = [count('met'), count('not met'), count('not seen')];
  const judged = met + notMet;
  return {
    clip,
    duty,
    met,
    notMet,
    notSeen,
    split: judged >= fewestToSplit && 3 * Math.min(met, notMet) >= judged,
  };
}

function agreementOf(units: readonly (readonly (0 | 1 | null)[])[]): Agreement {
  if (units[0]?.length !== 2) return krippendorffAlpha(units, 'nominal');
  const table = [
    [0, 0],
    [0, 0],
  ];
  for (const [first, second] of units)
    if (first !== null && first !== undefined && second !== null && second !== undefined)
      table[first]![second]! += 1;
  return weightedKappa(table);
}

function besideOthers(units: readonly (readonly PanelMark[])[], observer: string) {
  let judged = 0;
  let notSeen = 0;
  let missed = 0;
  const keen = { some: 0, of: 0 };
  const alone = { some: 0, of: 0 };
  for (const unit of units) {
    const own = unit.find((mark) => mark.observer === observer);
    if (!own) continue;
    if (own.finding === 'not seen') notSeen += 1;
    else judged += 1;
    if (own.finding === 'not met') missed += 1;
    const others = unit.filter((mark) => mark.observer !== observer && mark.finding !== 'not seen');
    if (others.length < 2) continue;
    const theirs = others.filter(({ finding }) => finding === 'not met').length;
    const tally =
      2 * theirs > others.length ? keen : theirs === 0 && own.finding !== 'not seen' ? alone : null;
    if (!tally) continue;
    tally.of += 1;
    if (own.finding === 'not met') tally.some += 1;
  }
  return {
    judged,
    notSeen,
    missed,
    keen: exactShare(keen.some, keen.of, confidence),
    alone: exactShare(alone.some, alone.of, confidence),
  };
}

/**
 * logit(missed) = usual + chance + observer, chances and observers random: with few clips an observer is drawn toward the
 * panel, and the interval stays wide.
 */
function severities(marks: readonly PanelMark[]): Map<string, NonNullable<PanelObserver['severity']>> {
  const judged = marks.filter(({ finding }) => finding !== 'not seen');
  if (new Set(judged.map(({ finding }) => finding)).size < 2) return new Map();
  const fit = fitCountModel({
    family: 'binomial',
    response: judged.map(({ finding }) => Number(finding === 'not met')),
    factors: [
      { name: 'observer', levels: judged.map(({ observer }) => observer) },
      { name: 'chance', levels: judged.map(({ clip, duty }) => `${clip}\n${duty}`) },
    ],
  });
  if (!fit.fitted) return new Map();
  const { variance, levels, effects } = fit.factors.find(({ name }) => name === 'observer')!;
  if (!(variance > 0)) return new Map();
  const { standardErrors } = levelErrors(fit, 'observer');
  return new Map(
    levels.map((level, at) => {
      const points = (reach: number) => 100 * expit(effects[at]! + reach * standardErrors[at]!);
      return [String(level), { of100: points(0), low: points(-z), high: points(z) }] as const;
    }),
  );
}
