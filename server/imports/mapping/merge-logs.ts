import { isDeepStrictEqual } from 'node:util';
import { type Fact, facts, type Play } from '../../football/play.ts';
import { alignLogs } from './align-logs.ts';
import type { PlayFromFile } from './map-plays.ts';

/** A play that is logged already. */
export interface PlayInLog {
  readonly id: string;
  readonly number: number;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
}

/** Where log and file say something different: what counts. */
export const whoIsRight = ['log', 'file'] as const;
export type WhoIsRight = (typeof whoIsRight)[number];

/** One play of the log as it would be. */
export interface PlayAfter {
  /** The play that is logged; undefined: it is new. */
  readonly id?: string;
  readonly number?: number;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
  /** Facts that were unknown and that the file tells. */
  readonly filled: readonly Fact[];
  /** Facts of which log and file say something different. */
  readonly differing: readonly { readonly fact: Fact; readonly inLog: Play; readonly inFile: Play }[];
  readonly changed: boolean;
  /** The file does not have it. */
  readonly onlyInLog: boolean;
}

/**
 * The log of a game with a file laid over it: no play is taken away, none loses its marks, and each stays the play it
 * is, also where one was put in between. What nobody logged is filled in; where both say something, `right` decides.
 */
export function mergeLogs(
  log: readonly PlayInLog[],
  file: readonly PlayFromFile[],
  right: WhoIsRight,
): PlayAfter[] {
  const pairs = alignLogs(
    log.map(({ play }) => play),
    file.map(({ play }) => play),
  );
  return pairs.map(({ ours, theirs }) => {
    const logged = ours === undefined ? undefined : log[ours];
    const sent = theirs === undefined ? undefined : file[theirs];
    if (logged === undefined) {
      const { play, filmSeconds, note } = sent!;
      return { play, filmSeconds, note, filled: [], differing: [], changed: false, onlyInLog: false };
    }
    if (sent === undefined) {
      return { ...logged, filled: [], differing: [], changed: false, onlyInLog: true };
    }
    return overlaid(logged, sent, right);
  });
}

function overlaid(logged: PlayInLog, sent: PlayFromFile, right: WhoIsRight): PlayAfter {
  const play: Record<string, unknown> = { ...logged.play };
  const filled: Fact[] = [];
  const differing: { fact: Fact; inLog: Play; inFile: Play }[] = [];
  // What only belongs to the file's kind of play says nothing of the kind that the log has.
  const sameKind = logged.play.kind === sent.play.kind;
  for (const fact of facts) {
    const theirs = sent.play[fact];
    const ours = logged.play[fact];
    if (theirs === undefined || isDeepStrictEqual(ours, theirs)) continue;
    if (ours === undefined) {
      if (!sameKind && right === 'log') continue;
      filled.push(fact);
      play[fact] = theirs;
    } else {
      differing.push({ fact, inLog: logged.play, inFile: sent.play });
      if (right === 'file') play[fact] = theirs;
    }
  }
  const filmSeconds = (right === 'file' ? sent.filmSeconds : null) ?? logged.filmSeconds ?? sent.filmSeconds;
  const note = (right === 'file' ? sent.note : '') || logged.note || sent.note;
  const changed =
    filled.length > 0 ||
    (right === 'file' && differing.length > 0) ||
    filmSeconds !== logged.filmSeconds ||
    note !== logged.note;
  return {
    id: logged.id,
    number: logged.number,
    play: play as Play,
    filmSeconds,
    note,
    filled,
    differing,
    changed,
    onlyInLog: false,
  };
}
