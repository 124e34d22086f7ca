import type { FollowedPoint } from './followed-points.ts';

/** What of development points is the official's to see: those that they were told of; of notes, only what was shared. */
export function shownToOfficial(points: readonly FollowedPoint[]): FollowedPoint[] {
  return points
    .filter((point) => point.progress.raisedOn !== null)
    .map((point) => ({
      ...point,
      steps: point.steps
        .filter((step) => step.kind !== 'note' || step.shared)
        .map((step) => ({ ...step, text: step.shared ? step.text : '' })),
    }));
}
