import { type CompiledRubric, type CrewAtWork, forEachChance } from '../../duties/opportunities.ts';
import { type WatchedOn, watchedOn } from '../../duties/watched.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { rubricOf } from './marking.ts';

/** How far a log tells who owed what, of those whom the observer watched. */
export interface LogStanding {
  /** By play: how many duties of how many officials its facts leave undecided. */
  readonly undecided: ReadonlyMap<string, number>;
  readonly allUndecided: number;
  /** Plays with nothing undecided. */
  readonly complete: number;
  /** Of all duties owed, the share whose official was watched; undefined while nothing is owed. */
  readonly watchedShare: number | undefined;
}

interface Chances {
  owed: number;
  undecided: number;
}

// By the facts themselves: a log of 165 plays is not gone through again at each mark.
let known:
  | { rubric: CompiledRubric; crew: string; byFacts: Map<string, ReadonlyMap<Position, Chances>> }
  | undefined;

/** Everybody is taken for watched until the observer has said whom they watched. */
export function watchedIn({ report: { watched }, plays }: EntryState): WatchedOn {
  if (watched === null) return () => true;
  return watchedOn(
    watched,
    plays.map(({ playId }) => playId),
  );
}

export function logStanding(state: EntryState): LogStanding {
  const crew = crewAtWork(state.crew);
  const rubric = rubricOf(state);
  const seen = watchedIn(state);
  const undecided = new Map<string, number>();
  let [owed, owedWatched] = [0, 0];
  for (const { playId, play } of state.plays) {
    let open = 0;
    for (const [position, chances] of chancesOn(play, crew, rubric)) {
      owed += chances.owed;
      if (!seen(playId, position)) continue;
      owedWatched += chances.owed;
      open += chances.undecided;
    }
    undecided.set(playId, open);
  }
  const counts = [...undecided.values()];
  return {
    undecided,
    allUndecided: counts.reduce((sum, count) => sum + count, 0),
    complete: counts.filter((count) => count === 0).length,
    watchedShare: owed === 0 ? undefined : owedWatched / owed,
  };
}

/** Goes through the log in steps of a few plays, as far as `logStanding` keeps what it found: then it has little to do. */
export function* readAhead(state: EntryState): Generator<void> {
  const crew = crewAtWork(state.crew);
  const rubric = rubricOf(state);
  for (const [at, { play }] of state.plays.entries()) {
    chancesOn(play, crew, rubric);
    if (at % playsAtOnce === playsAtOnce - 1) yield;
  }
}
const playsAtOnce = 20;

function chancesOn(play: Play, crew: CrewAtWork, rubric: CompiledRubric): ReadonlyMap<Position, Chances> {
  const present = crew.present.join();
  if (known?.rubric !== rubric || known.crew !== present)
    known = { rubric, crew: present, byFacts: new Map() };
  const facts = JSON.stringify(play);
  const before = known.byFacts.get(facts);
  if (before) return before;
  const found = new Map<Position, Chances>();
  forEachChance(play, crew, rubric, (position, _duty, _named, _number, owed) => {
    const chances = found.get(position) ?? { owed: 0, undecided: 0 };
    if (owed === true) chances.owed++;
    else chances.undecided++;
    found.set(position, chances);
  });
  known.byFacts.set(facts, found);
  return found;
}

/** Never rounded up to all of them, nor down to none. */
export function percentWatched(share: number): string {
  const percent = share === 1 ? 100 : Math.min(99, Math.max(share > 0 ? 1 : 0, Math.round(share * 100)));
  return `${percent} %`;
}

/** Those with something undecided, where most can be decided first. */
export function mostUndecidedFirst(plays: readonly EntryPlay[], { undecided }: LogStanding): EntryPlay[] {
  const count = (play: EntryPlay) => undecided.get(play.playId) ?? 0;
  return plays.filter((play) => count(play) > 0).sort((a, b) => count(b) - count(a));
}

/**
 * The play to go to next: of those not yet `passed` the one with most undecided; when all were passed, from the
 * beginning again. Undefined when nothing is undecided anywhere else.
 */
export function nextUndecided(
  plays: readonly EntryPlay[],
  standing: LogStanding,
  current: string | undefined,
  passed: Set<string>,
): EntryPlay | undefined {
  if (current) passed.add(current);
  const others = mostUndecidedFirst(plays, standing).filter((play) => play.playId !== current);
  const next = others.find((play) => !passed.has(play.playId));
  if (next || others.length === 0) return next;
  passed.clear();
  if (current) passed.add(current);
  return others[0];
}
