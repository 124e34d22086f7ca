/** A rectangle of a picture, y downward. */
export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

interface Place {
  readonly x: number;
  readonly y: number;
}

export const centered = (x: number, y: number, width: number, height: number): Box => ({
  left: x - width / 2,
  right: x + width / 2,
  top: y - height / 2,
  bottom: y + height / 2,
});

const overlap = (one: Box, other: Box): number =>
  Math.max(0, Math.min(one.right, other.right) - Math.max(one.left, other.left)) *
  Math.max(0, Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top));

const outside = (box: Box, within: Box): number =>
  (box.right - box.left) * (box.bottom - box.top) - overlap(box, within);

/**
 * The nearest place beside a point for a label of this size that stays within the picture and off what is taken; when
 * there is none, the one that covers least. `places`: centers to try in this order, instead of those around the point.
 */
export function placeBox(
  point: Place,
  { width, height }: { width: number; height: number },
  within: Box,
  taken: readonly Box[],
  places: readonly Place[] = around(point, width, height),
): Box {
  let best: Box | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const { x, y } of places) {
    const box = centered(x, y, width, height);
    const covered = outside(box, within) * 2 + taken.reduce((sum, other) => sum + overlap(box, other), 0);
    if (covered < least) [best, least] = [box, covered];
    if (covered === 0) break;
  }
  return best!;
}

function around({ x, y }: Place, width: number, height: number): Place[] {
  return [14, 26, 44, 66].flatMap((gap) => [
    { x: x + width / 2 + gap, y },
    { x: x - width / 2 - gap, y },
    { x: x + width / 2 + gap, y: y - height / 2 - gap },
    { x: x - width / 2 - gap, y: y - height / 2 - gap },
    { x: x + width / 2 + gap, y: y + height / 2 + gap },
    { x: x - width / 2 - gap, y: y + height / 2 + gap },
    { x, y: y - height / 2 - gap },
    { x, y: y + height / 2 + gap },
  ]);
}
