import { v7 as uuidv7 } from 'uuid';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntrySession } from './entry-session.ts';

export function recordPlay(
  session: EntrySession,
  play: EntryPlay,
  part: Partial<Pick<EntryPlay, 'play' | 'filmSeconds' | 'note'>>,
  label: string,
): void {
  session.record(`${label}, play ${play.number}`, {
    kind: 'put play',
    id: uuidv7(),
    basedOn: play.changeId,
    playId: play.playId,
    after: null,
    play: part.play ?? play.play,
    filmSeconds: part.filmSeconds === undefined ? play.filmSeconds : part.filmSeconds,
    note: part.note ?? play.note,
  });
}
