import type { CrewAtWork } from '../duties/opportunities.ts';
import { type CrewSize, crewSizes, type Position, positions } from '../football/positions.ts';

/** One official as they really worked a game. */
export interface CrewMember {
  readonly position: Position;
  readonly personId: string;
}

/** The crew as the rubric needs it: how many work, and which positions are filled. */
export function crewAtWork(members: readonly CrewMember[]): CrewAtWork {
  const filled = new Set(members.map((member) => member.position));
  const present = positions.filter((position) => filled.has(position));
  const size = Math.min(Math.max(present.length, crewSizes[0]), crewSizes[crewSizes.length - 1]!) as CrewSize;
  return { size, present };
}
