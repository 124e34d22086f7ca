import { deepWings, sideOf, whoCovers } from '../crews.ts';
import { type Position, positions } from '../positions.ts';
import type { Practices } from '../practices.ts';
import type { Side } from '../sides.ts';

/**
 * Who stands where, worked out once for each make-up of a crew, from who is really there rather than from the crew's
 * size: whoever stands on a side and at a depth has that zone, so nobody covers across the field what a partner on
 * that side can see. Common practice, no source.
 */
export interface CrewOnField {
  readonly present: ReadonlySet<Position>;
  /** Who has a side up to the end of the wings' zone. */
  readonly wing: Readonly<Record<Side, Position>>;
  /** Who has a side beyond it: the deep wing, or the wing in crews that have none there. */
  readonly deepWing: Readonly<Record<Side, Position>>;
  /** The back judge, or in crews without one whoever is deep on either side. */
  readonly deepMiddle: readonly Position[];
  /** Short of the deep zone, in the middle: both wings, and umpire and center judge where the crew has them. */
  readonly shortMiddle: readonly Position[];
  /** Behind the line in the middle. */
  readonly behindMiddle: Position;
  readonly hasDeepWings: boolean;
  readonly practices: Practices;
}

export function crewOnField(present: readonly Position[], practices: Practices): CrewOnField {
  const there = new Set(present);
  const wingOf = (wing: Position): Position => whoCovers(wing, there)[0] ?? 'referee';
  const wing = {
    'head linesman side': wingOf('head linesman'),
    'line judge side': wingOf('line judge'),
  };
  const deepOf = (deep: Position): Position =>
    there.has(deep) ? deep : wing[sideOf(deep) ?? 'head linesman side'];
  const deepWing = {
    'head linesman side': deepOf('side judge'),
    'line judge side': deepOf('field judge'),
  };
  const once = (list: readonly Position[]) => positions.filter((position) => list.includes(position));
  return {
    present: there,
    wing,
    deepWing,
    deepMiddle: there.has('back judge') ? ['back judge'] : once(Object.values(deepWing)),
    shortMiddle: once([
      ...Object.values(wing),
      ...(['umpire', 'center judge'] as const).filter((position) => there.has(position)),
    ]),
    behindMiddle: whoCovers('referee', there)[0] ?? 'umpire',
    hasDeepWings: deepWings.some((position) => there.has(position)),
    practices,
  };
}
