import { consequenceAfter } from '../../duties/consequence.ts';
import { sameWatched, watchedWithout } from '../../duties/watched.ts';
import type { Change } from './changes.ts';
import type { EntryMark, EntryPlay, EntrySnapshot } from './entry-snapshot.ts';

/** A report as the observer sees it: what the server last said, with the device's own changes laid over it. */
export type EntryState = EntrySnapshot;

/** The state after one change; nothing is altered in place. Mirrors what the server does when nothing conflicts. */
export function withChange(state: EntryState, change: Change): EntryState {
  switch (change.kind) {
    case 'put mark': {
      const at = state.marks.findIndex((other) => other.markId === change.markId);
      const mark: EntryMark = {
        markId: change.markId,
        playId: change.playId,
        position: change.position,
        dutyKey: change.dutyKey,
        finding: change.finding,
        comment: change.comment,
        consequence: consequenceAfter(change, state.marks[at]?.consequence),
        changeId: change.id,
      };
      return { ...state, marks: at < 0 ? [...state.marks, mark] : state.marks.with(at, mark) };
    }
    case 'remove mark':
      return { ...state, marks: state.marks.filter((mark) => mark.markId !== change.markId) };
    case 'put play': {
      const at = state.plays.findIndex((other) => other.playId === change.playId);
      const play: EntryPlay = {
        playId: change.playId,
        number: at < 0 ? 0 : state.plays[at]!.number,
        play: change.play,
        filmSeconds: change.filmSeconds,
        note: change.note,
        changeId: change.id,
      };
      if (at >= 0) return { ...state, plays: state.plays.with(at, play) };
      const after = state.plays.findIndex((other) => other.playId === change.after);
      const place = change.after === null ? 0 : after < 0 ? state.plays.length : after + 1;
      return { ...state, plays: numbered(state.plays.toSpliced(place, 0, play)) };
    }
    case 'remove play':
      return {
        ...state,
        report: { ...state.report, watched: watchedAfterRemoval(state, change.playId) },
        plays: numbered(state.plays.filter((play) => play.playId !== change.playId)),
        marks: state.marks.filter((mark) => mark.playId !== change.playId),
      };
    case 'confirm crew':
      return { ...state, crew: change.crew, crewConfirmed: change.confirmed !== false };
    case 'general comment':
      return { ...state, report: { ...state.report, generalComment: change.comment } };
    case 'watched':
      return { ...state, report: { ...state.report, watched: change.watched } };
    case 'resolve':
      return {
        ...state,
        conflicts: state.conflicts.filter((conflict) => conflict.changeId !== change.conflictId),
      };
  }
}

function watchedAfterRemoval({ report: { watched }, plays }: EntryState, playId: string) {
  return (
    watched &&
    watchedWithout(
      watched,
      playId,
      plays.map((play) => play.playId),
    )
  );
}

export function withChanges(state: EntryState, changes: readonly Change[]): EntryState {
  return changes.reduce(withChange, state);
}

function numbered(plays: readonly EntryPlay[]): EntryPlay[] {
  return plays.map((play, index) => (play.number === index + 1 ? play : { ...play, number: index + 1 }));
}

/**
 * The changes that undo `change`, given the state before it, each to be given an id in turn. `id` makes a change's
 * id; a later change of the same row is based on the one being undone.
 */
export function inverseOf(before: EntryState, change: Change, id: () => string): Change[] {
  switch (change.kind) {
    case 'put mark': {
      const old = before.marks.find((mark) => mark.markId === change.markId);
      if (!old) return [{ kind: 'remove mark', id: id(), basedOn: change.id, markId: change.markId }];
      const { changeId: _, ...content } = old;
      return [{ kind: 'put mark', id: id(), basedOn: change.id, ...content }];
    }
    case 'remove mark': {
      const old = before.marks.find((mark) => mark.markId === change.markId);
      if (!old) return [];
      const { changeId: _, ...content } = old;
      return [{ kind: 'put mark', id: id(), basedOn: change.id, ...content }];
    }
    case 'put play': {
      const old = before.plays.find((play) => play.playId === change.playId);
      if (!old) {
        return [
          { kind: 'remove play', id: id(), basedOn: change.id, playId: change.playId, marksToo: false },
        ];
      }
      return [putBack(old, before, change.id, id())];
    }
    case 'remove play': {
      const old = before.plays.find((play) => play.playId === change.playId);
      if (!old) return [];
      const marks = before.marks.filter((mark) => mark.playId === change.playId);
      return [
        putBack(old, before, change.id, id()),
        ...marks.map(
          ({ changeId: _, ...content }): Change => ({
            kind: 'put mark',
            id: id(),
            basedOn: change.id,
            ...content,
          }),
        ),
        ...watchedPutBack(before, watchedAfterRemoval(before, change.playId), id),
      ];
    }
    case 'confirm crew':
      return before.crew.length === 0
        ? []
        : [
            {
              kind: 'confirm crew',
              id: id(),
              was: change.crew,
              crew: before.crew,
              confirmed: before.crewConfirmed,
            },
          ];
    case 'general comment':
      return [
        { kind: 'general comment', id: id(), was: change.comment, comment: before.report.generalComment },
      ];
    case 'watched':
      return watchedPutBack(before, change.watched, id);
    case 'resolve':
      return [];
  }
}

/** Nobody can take back that something was said: then it stays as it is. */
function watchedPutBack(
  { report: { watched } }: EntryState,
  now: EntryState['report']['watched'],
  id: () => string,
): Change[] {
  if (watched === null || sameWatched(watched, now)) return [];
  return [{ kind: 'watched', id: id(), was: now, watched }];
}

function putBack(old: EntryPlay, before: EntryState, basedOn: string, id: string): Change {
  const place = before.plays.findIndex((play) => play.playId === old.playId);
  return {
    kind: 'put play',
    id,
    basedOn,
    playId: old.playId,
    after: before.plays[place - 1]?.playId ?? null,
    play: old.play,
    filmSeconds: old.filmSeconds,
    note: old.note,
  };
}
