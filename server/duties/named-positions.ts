import type { CrewSize, Position } from '../football/positions.ts';

/** Who a duty names: `Duty` has these. */
interface Named {
  positions: Position[];
  instead: { crewSize: CrewSize; positions: Position[] }[];
}

/** Positions that owe a duty in a full crew of this size, as the duty names them, before covering. */
export function namedPositions(duty: Named, crewSize: CrewSize): Position[] {
  return duty.instead.find((other) => other.crewSize === crewSize)?.positions ?? duty.positions;
}
