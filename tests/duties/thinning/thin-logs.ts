import type { Draws } from '../../../seed-demo/draws.ts';
import type { LoggedPlay } from '../../../server/duties/logged-play.ts';
import type { Fact, Play } from '../../../server/football/play.ts';

/** How an observer's log falls short of a full one. `marked`: the plays on which they marked a miss. */
export type Habit = (log: readonly LoggedPlay[], marked: ReadonlySet<string>, draws: Draws) => LoggedPlay[];

/** What every log has. */
const always: readonly string[] = ['kind', 'spot', 'down', 'distance', 'quarter', 'clockSeconds'];

const keeping = ({ id, play }: LoggedPlay, keeps: (fact: Fact) => boolean): LoggedPlay => ({
  id,
  play: Object.fromEntries(
    Object.entries(play).filter(([fact]) => always.includes(fact) || keeps(fact as Fact)),
  ) as unknown as Play,
});

/** What is decided once for each fact of a report. */
function byFact<T>(decide: () => T): (fact: Fact) => T {
  const decided = new Map<Fact, T>();
  return (fact) => {
    if (!decided.has(fact)) decided.set(fact, decide());
    return decided.get(fact)!;
  };
}

/** Each fact of each play left out by chance. */
export const atRandom =
  (share: number): Habit =>
  (log, _marked, draws) =>
    log.map((each) => keeping(each, () => !draws.chance(share)));

/** Some facts are no longer logged from some play on: the observer tires. */
export const tired =
  (share: number): Habit =>
  (log, _marked, draws) => {
    const until = byFact(() => (draws.chance(share) ? draws.unit() : 2));
    return log.map((each, at) => keeping(each, (fact) => at / log.length < until(fact)));
  };

/** The last quarter is not in the log at all. */
export const withoutLastQuarter: Habit = (log) => log.filter(({ play }) => (play.quarter ?? 1) < 4);

/** Some facts are looked up only where a mark was made, because the mark asks for them. */
export const onlyWhereMarked =
  (share: number): Habit =>
  (log, marked, draws) => {
    const lazy = byFact(() => draws.chance(share));
    return log.map((each) => (marked.has(each.id) ? each : keeping(each, (fact) => !lazy(fact))));
  };

export const thorough: Habit = (log) => [...log];
