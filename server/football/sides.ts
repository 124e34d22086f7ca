/**
 * Across the field we name the side by the wing who stands there, not by press box or compass: it is what an
 * observer sees, and it stays right when the wings change sides at half-time.
 */
export const sides = ['head linesman side', 'line judge side'] as const;
export type Side = (typeof sides)[number];

/** A place across the field: one of the side zones, or the middle between them. */
export const lanes = ['head linesman side', 'middle', 'line judge side'] as const;
export type Lane = (typeof lanes)[number];

export function mirrorLane<L extends Lane>(lane: L): L {
  if (lane === 'head linesman side') return 'line judge side' as L;
  if (lane === 'line judge side') return 'head linesman side' as L;
  return lane;
}
