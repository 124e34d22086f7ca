import type { GradingSide } from '../../grading/agreement/detection.ts';
import type { CurrentStandings } from '../standings/season-standings.ts';

/** What the grading model says of observers, as detection takes it. */
export function gradingSide({
  lines,
  observers,
  model,
}: Pick<CurrentStandings, 'lines' | 'observers' | 'model'>): GradingSide {
  const graded = lines.filter((line) => line.raw !== null);
  const chances = graded.reduce((sum, line) => sum + line.opportunities, 0);
  const lost = graded.reduce((sum, line) => sum + (100 - line.raw!) * line.opportunities, 0);
  return {
    multiplies: model.used === 'counts',
    averageLoss: chances > 0 ? lost / chances : 0,
    severity: new Map(
      observers.flatMap(({ observer, effect, standardError }) =>
        effect === null ? [] : [[observer, { points: effect, standardError }] as const],
      ),
    ),
  };
}
