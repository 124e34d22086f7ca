import type { PlayKind } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import {
  type CompiledDuty,
  type CompiledRubric,
  type CrewAtWork,
  candidatesIn,
  fieldOf,
  SituationsOfPlay,
} from './compiled-rubric.ts';
import type { LoggedPlay } from './logged-play.ts';
import type { WatchedOn } from './watched.ts';

/** A duty of a position of which some plays leave open whether it was owed. */
interface OpenRow {
  readonly position: Position;
  readonly dutyKey: string;
  /** Chances known. */
  readonly opportunities: number;
}

interface Tally {
  /** Plays left open, by the parts of the duty (bits) that are not known. */
  readonly open: Map<number, number>;
  /** Plays that did not give the duty, by the parts that failed or are not known. */
  readonly against: Map<number, number>;
}

/**
 * How many chances the plays that leave a duty open probably hold, for each row. Of the plays of this log on which
 * all else that triggers the duty held too, and what is open there is known, the share that gave it is taken: so a
 * fumble left open counts for next to nothing, and an unknown side of a ball out of bounds for half a chance. Half a
 * play is added to either side, so that few plays do not say never or always.
 */
export function likelyChances(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  rubric: CompiledRubric,
  rows: readonly OpenRow[],
  watchedOn?: WatchedOn,
): number[] {
  if (rows.length === 0) return [];
  const tallies = new Map<string, Map<Position, Tally>>();
  for (const { position, dutyKey } of rows) {
    const ofDuty = tallies.get(dutyKey) ?? new Map<Position, Tally>();
    ofDuty.set(position, { open: new Map(), against: new Map() });
    tallies.set(dutyKey, ofDuty);
  }
  const field = fieldOf(rubric, crew);
  const scratch = new SituationsOfPlay(rubric);
  const askedByKind = new Map<PlayKind, readonly Asked[]>();
  for (const { id, play } of plays) {
    let asked = askedByKind.get(play.kind);
    if (asked === undefined) {
      asked = askedOf(rubric, crew, play.kind, tallies);
      askedByKind.set(play.kind, asked);
    }
    scratch.turnTo(play);
    for (const { compiled, position, tally } of asked) {
      if (watchedOn && !watchedOn(id, position)) continue;
      const { failed, open } = scratch.parts(compiled, position, field);
      if (failed > 0) add(tally.against, failed | open);
      else if (open > 0) add(tally.open, open);
    }
  }
  return rows.map(({ position, dutyKey, opportunities }) => {
    const { open, against } = tallies.get(dutyKey)!.get(position)!;
    let likely = 0;
    for (const [unknown, leftOpen] of open) {
      let without = 0;
      for (const [parts, count] of against) if ((parts & ~unknown) === 0) without += count;
      likely += (leftOpen * (opportunities + 0.5)) / (opportunities + without + 1);
    }
    return likely;
  });
}

/** A row that plays of some kind may give. */
interface Asked {
  readonly compiled: CompiledDuty;
  readonly position: Position;
  readonly tally: Tally;
}

function askedOf(
  rubric: CompiledRubric,
  crew: CrewAtWork,
  kind: PlayKind,
  tallies: ReadonlyMap<string, ReadonlyMap<Position, Tally>>,
): Asked[] {
  return candidatesIn(rubric, crew, kind).flatMap(({ compiled, shares }) =>
    [...(tallies.get(compiled.duty.key) ?? [])]
      .filter(([position]) => shares.some(({ owedBy }) => owedBy.includes(position)))
      .map(([position, tally]) => ({ compiled, position, tally })),
  );
}

function add(counts: Map<number, number>, key: number): void {
  counts.set(key, (counts.get(key) ?? 0) + 1);
}
