import { type Position, positions } from '../positions.ts';
import type { CrewOnField } from './crew-on-field.ts';

const freeKickStations = ["at the kicking team's line", "at the receiving team's line", 'deep'] as const;
type FreeKickStation = (typeof freeKickStations)[number];

/**
 * Where each official stands on a free kick. Common practice, no source: crews differ, so the back judge's place is a
 * setting. The referee and the wings are deep with the receivers, the deep wings at the receiving team's restraining
 * line, umpire and back judge with the kickers; small crews leave the line judge deep and send the head linesman to
 * the receiving team's line.
 */
export function freeKickStation(position: Position, crew: CrewOnField): FreeKickStation {
  switch (position) {
    case 'referee':
    case 'line judge':
      return 'deep';
    case 'head linesman':
      return crew.hasDeepWings ? 'deep' : "at the receiving team's line";
    case 'side judge':
    case 'field judge':
    case 'center judge':
      return "at the receiving team's line";
    case 'back judge':
      return crew.practices.backJudgeOnFreeKicks;
    case 'umpire':
      return crew.present.has('back judge') &&
        !crew.hasDeepWings &&
        crew.practices.backJudgeOnFreeKicks !== 'deep'
        ? "at the receiving team's line"
        : "at the kicking team's line";
  }
}

const stations = new WeakMap<CrewOnField, Readonly<Record<FreeKickStation, readonly Position[]>>>();

function stationsOf(crew: CrewOnField): Readonly<Record<FreeKickStation, readonly Position[]>> {
  const found: Record<FreeKickStation, Position[]> = {
    "at the kicking team's line": [],
    "at the receiving team's line": [],
    deep: [],
  };
  for (const position of positions)
    if (crew.present.has(position)) found[freeKickStation(position, crew)].push(position);
  stations.set(crew, found);
  return found;
}

/** Those of the crew who stand there; worked out once for each crew. */
export function standing(station: FreeKickStation, crew: CrewOnField): readonly Position[] {
  return (stations.get(crew) ?? stationsOf(crew))[station];
}
