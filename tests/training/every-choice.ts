import type { ClipProblem } from '../../server/training/clip-problem.ts';
import type { Lesson } from '../../server/training/lesson.ts';

// The rules of a choice of plays written out plainly, one after the other, apart from the program's linear model: what
// is worth most is found by trying every choice.

const groups = (
  lessons: readonly Lesson[],
  keys: (lesson: Lesson) => readonly (string | number | null)[],
) => {
  const counts = new Map<string | number, number>();
  for (const lesson of lessons)
    for (const key of keys(lesson)) if (key !== null) counts.set(key, (counts.get(key) ?? 0) + 1);
  return counts;
};

const good = (lesson: Lesson) => lesson.showing === 'good';

/** What the choice is worth, or null where it breaks a rule. Nothing is locked. */
export function worthOf({ lessons, limits }: ClipProblem, chosen: readonly Lesson[]): number | null {
  const praised = chosen.filter(good);
  const others = chosen.filter((lesson) => !good(lesson));
  if (chosen.length > limits.clips) return null;
  if (chosen.reduce((sum, { seconds }) => sum + seconds, 0) > limits.seconds) return null;
  if (others.length > praised.length) return null;
  if (new Set(chosen.map(({ playId }) => playId)).size < chosen.length) return null;
  for (const [, bad] of groups(others, ({ officialId }) => [officialId]))
    if (bad > limits.mostBadOfOfficial) return null;
  for (const [, bad] of groups(others, ({ crewId }) => [crewId]))
    if (bad > Math.ceil(others.length / 3)) return null;
  const topics = groups(chosen, ({ topic }) => [topic]);
  if (topics.size > limits.topics) return null;
  for (const topic of topics.keys())
    if (praised.filter((lesson) => lesson.topic === topic).length < 2) return null;
  const spreads: [(lesson: Lesson) => readonly (string | number | null)[], number][] = [
    [({ crewId }) => [crewId], 1],
    [({ position }) => [position], 1],
    [({ week }) => [week], 1],
    [({ teamIds }) => teamIds, 2],
  ];
  for (const [keys, each] of spreads) {
    const most = Math.ceil((1.25 * each * limits.clips) / groups(lessons, keys).size);
    for (const [, plays] of groups(chosen, keys)) if (plays > most) return null;
  }
  const goodOf = groups(praised, ({ officialId }) => [officialId]);
  let moreBad = 0;
  for (const [official, bad] of groups(others, ({ officialId }) => [officialId]))
    moreBad += Math.max(0, bad - (goodOf.get(official) ?? 0));
  const points = chosen.reduce((sum, lesson) => sum + lesson.points, 0);
  return points - 4 * moreBad - 2 * Math.max(0, praised.length - 2 * others.length);
}

/** The most that any choice is worth. Twice the work for each lesson more. */
export function bestWorth(problem: ClipProblem): number {
  const { lessons } = problem;
  let best = 0; // nothing chosen
  for (let choice = 1; choice < 2 ** lessons.length; choice += 1) {
    const worth = worthOf(
      problem,
      lessons.filter((_, at) => (choice >> at) & 1),
    );
    if (worth !== null && worth > best) best = worth;
  }
  return best;
}
