import type { Position } from '../../football/positions.ts';
import type { Calculator } from '../calculator.ts';
import { type Beside, type CountsByDuty, gradingMaterialOf } from './grading-rows.ts';
import { gradeMaterial, type StandingLine, type StandingsSettings } from './season-standings.ts';

/** One official's standing in one position, now and as it would be. Grades 0 to 100; places count from 1. */
export interface MovedStanding {
  readonly personId: string;
  readonly position: Position;
  readonly now: Place;
  readonly would: Place;
}

interface Place {
  /** Season grade before any adjustment; null without a counted opportunity. */
  readonly raw: number | null;
  readonly adjusted: number | null;
  readonly standardError: number | null;
  /** Null when not ranked. */
  readonly place: number | null;
}

const nowhere: Place = { raw: null, adjusted: null, standardError: null, place: null };

/**
 * What the standings would be if every released report of the season were graded with another weight for one duty
 * (0 leaves the duty out). Nothing is changed: filed reports keep the weights that they were filed with.
 */
export async function standingsWithWeight(
  calculator: Pick<Calculator, 'grade'>,
  counts: CountsByDuty,
  dutyKey: string,
  weight: number,
  settings: StandingsSettings,
  beside?: Beside,
): Promise<MovedStanding[]> {
  const withWeight = <Row extends { dutyKey: string; weight: number }>(rows: readonly Row[]) =>
    rows.map((row) => (row.dutyKey === dutyKey ? { ...row, weight } : row)).filter((row) => row.weight > 0);
  const changed = { reports: withWeight(counts.reports), games: withWeight(counts.games) };
  const now = await gradeMaterial(calculator, gradingMaterialOf(counts, beside), settings, 0);
  // By the same model, so that what moves is the weight's doing.
  const would = await gradeMaterial(calculator, gradingMaterialOf(changed, beside), settings, 0, {
    given: { model: now.model.used, because: 'asked' },
  });
  const keyOf = (line: StandingLine) => `${line.personId} ${line.position}`;
  const after = new Map(would.lines.map((line) => [keyOf(line), placeOf(line)]));
  return now.lines.map((line) => ({
    personId: line.personId,
    position: line.position,
    now: placeOf(line),
    would: after.get(keyOf(line)) ?? nowhere,
  }));
}

function placeOf({ raw, adjusted, rank }: StandingLine): Place {
  return {
    raw,
    adjusted: adjusted?.grade ?? null,
    standardError: adjusted?.standardError ?? null,
    place: rank?.place ?? null,
  };
}
