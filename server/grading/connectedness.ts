import { type ClipMark, linkedByClips } from './clip-marks.ts';
import { connectedComponents } from './connected-components.ts';

/** An observer's report on a game, naming those it graded. */
interface Meeting {
  official: string;
  observer: string;
}

/** Officials and observers that can be compared with each other, and with nobody outside. */
interface ComparableGroup {
  officials: string[];
  observers: string[];
}

/**
 * Splits officials and observers into groups that no report links: connected components of the graph in
 * which an official and an observer are joined when the one was graded by the other. Within a group,
 * severity and skill can be told apart; across groups nothing says whether one group's observers were
 * strict or its officials weak (Searle 1971, *Linear Models*, on connected two-way data).
 *
 * Observers who judged the same clips are held against each other there, so that what their officials were marked can be
 * too: they are joined, also by way of one who reported on no game.
 *
 * @param clips marks of clips that the model takes in
 * @returns largest group first (most officials, then by name); names inside a group in order, of observers those who
 * reported on a game.
 */
export function comparableGroups(
  meetings: readonly Meeting[],
  clips: readonly ClipMark[] = [],
): ComparableGroup[] {
  const officials = new Set(meetings.map(({ official }) => official));
  const observers = new Set(meetings.map(({ observer }) => observer));
  const links = meetings.map(({ official, observer }) => [official, observer] as const);
  const onClips = linkedByClips(clips).flatMap(([one, other]) => {
    const both = `on clips ${one}\n${other}`;
    return [[both, one] as const, [both, other] as const];
  });
  return connectedComponents([], [...links, ...onClips])
    .map(({ left, right }) => ({
      officials: left.filter((name) => officials.has(name)).sort(),
      observers: right.filter((name) => observers.has(name)).sort(),
    }))
    .filter((group) => group.officials.length > 0)
    .sort((a, b) => b.officials.length - a.officials.length || (a.officials[0]! < b.officials[0]! ? -1 : 1));
}

/** By official, the observers of their group: the same list for all of the group. */
export function observersByOfficial(
  groups: readonly ComparableGroup[],
): ReadonlyMap<string, readonly string[]> {
  return new Map(
    groups.flatMap(({ officials, observers }) => officials.map((official) => [official, observers] as const)),
  );
}
