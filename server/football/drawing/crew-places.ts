import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { CrewOnField } from '../zones/crew-on-field.ts';
import { fieldWidth, type Point } from './field-measures.ts';
import { drawPlay } from './play-drawing.ts';

/** A box to lay places out in, and what each official takes up there: all in one unit, such as rem. */
export interface LayOut {
  readonly width: number;
  readonly height: number;
  readonly official: { readonly width: number; readonly height: number };
}

/** A small picture of the field before the snap. Places are shares of its width and height, 0 to 1, from the top left. */
interface CrewPlaces {
  readonly officials: ReadonlyMap<Position, Point>;
  readonly ball: Point;
  /** Lines across the field, as shares of the height. */
  readonly yardLines: readonly { readonly at: number; readonly goal: boolean }[];
  readonly lineOfScrimmage: number;
  readonly lineToGain: number | undefined;
  /** Nobody logged how the try was made: drawn as for a kick. */
  readonly supposed: boolean;
}

const rounds = 60;

/**
 * Where a crew stands on a play, far enough apart to be touched one by one: whoever would stand on another is moved
 * aside by no more than that takes. The offense goes up the picture, which shows as much of the field as the crew uses.
 */
export function crewPlaces(play: Play, crew: CrewOnField, code: Code, layOut: LayOut): CrewPlaces {
  const supposed = play.kind === 'try' && play.tryBy === undefined;
  const { kind, spot, tryBy, snapSide, down, distance } = play;
  const before: Play = { kind, spot };
  if (tryBy !== undefined || supposed) before.tryBy = tryBy ?? 'kick';
  if (snapSide !== undefined) before.snapSide = snapSide;
  if (down !== undefined) before.down = down;
  if (distance !== undefined) before.distance = distance;
  const drawing = drawPlay(before, crew, code, new Set());
  const up = (y: number) => (drawing.to - y) / (drawing.to - drawing.from);
  const places = drawing.officials.map(({ position, x, y }) => ({
    position,
    x: (x / fieldWidth) * layOut.width,
    y: up(y) * layOut.height,
  }));
  moveApart(places, layOut);
  const snap = drawing.marks[0]!;
  const yardLines: { at: number; goal: boolean }[] = [];
  for (let y = Math.ceil(drawing.from / 5) * 5; y <= drawing.to; y += 5)
    yardLines.push({ at: up(y), goal: y === 10 || y === 110 });
  return {
    officials: new Map(
      places.map(({ position, x, y }) => [position, { x: x / layOut.width, y: y / layOut.height }]),
    ),
    ball: { x: (snap.across.from + snap.across.to) / 2 / fieldWidth, y: up(snap.y) },
    yardLines,
    lineOfScrimmage: up(drawing.lineOfScrimmage),
    lineToGain: drawing.lineToGain === undefined ? undefined : up(drawing.lineToGain),
    supposed,
  };
}

type Place = { x: number; y: number };

/** Pushes what overlaps apart along the shorter way, within the box, until nothing does. */
function moveApart(places: Place[], { width, height, official }: LayOut): void {
  const within = (place: Place) => {
    place.x = Math.min(width - official.width / 2, Math.max(official.width / 2, place.x));
    place.y = Math.min(height - official.height / 2, Math.max(official.height / 2, place.y));
  };
  for (const place of places) within(place);
  for (let round = 0; round < rounds; round++) {
    let moved = false;
    for (const [at, one] of places.entries()) {
      for (const other of places.slice(at + 1)) {
        const x = official.width - Math.abs(one.x - other.x);
        const y = official.height - Math.abs(one.y - other.y);
        if (x <= tolerance || y <= tolerance) continue;
        moved = true;
        if (x / official.width < y / official.height) push(one, other, 'x', x);
        else push(one, other, 'y', y);
        within(one);
        within(other);
      }
    }
    if (!moved) return;
  }
}

const tolerance = 1e-6;

function push(one: Place, other: Place, axis: 'x' | 'y', by: number): void {
  const sign = one[axis] <= other[axis] ? -1 : 1;
  one[axis] += (sign * by) / 2;
  other[axis] -= (sign * by) / 2;
}
